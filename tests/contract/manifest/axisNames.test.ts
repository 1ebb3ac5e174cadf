import { describe, expect, test } from "vitest";
import { changed, read, refusal } from "./support.ts";

const declared = (names: string): string => changed(["primary: rms", `primary: rms\naxis_names: ${names}`]);

describe("axis_names", () => {
  test("names the world's axes; what is left out has none", async () => {
    const { axisNames } = await read(declared('{ x: towards the wall, z: "auf, Höhe" }'));
    expect(axisNames).toEqual({ x: "towards the wall", y: null, z: "auf, Höhe" });
    expect((await read(changed())).axisNames).toEqual({ x: null, y: null, z: null });
  });

  test.each([
    ["{ x: towards the wall of the third tank }", /axis_names\.x: found "towards.*expected a few words.*at most 30/],
    ['{ x: "wall (north)" }', /axis_names\.x: found "wall \(north\)"/],
    ["{ w: up }", /found the unknown key "w", expected x, y or z/],
    ["up", /axis_names: found "up"/],
    ["{ x: [a] }", /axis_names\.x: found a list/],
  ])("%s is refused where it stands", async (names, message) => {
    const [first] = (await refusal(declared(names))).problems;
    expect(`${first!.place} ${first!.message}`).toMatch(message);
    expect(first!.place).toMatch(/:7:\d+$/);
  });
});
