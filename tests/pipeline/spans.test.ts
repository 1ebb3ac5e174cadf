import { expect, test } from "vitest";
import { flownAlong } from "./flownAlong.ts";
import { checksOf, evaluateFlights, shortFlight, shortManifest } from "./shortCampaign.ts";
import { path } from "./wrongSetUps/loggedTrial.ts";

test("of runs of a logged path that are all cut by hand, the one cut elsewhere is doubted, with what it shares", async () => {
  const logs = Object.fromEntries(
    [1, 2, 3, 4].map((seed) => [`run-${seed}.bag`, flownAlong(shortFlight(seed), path, (t) => path(t - 0.05))]),
  );
  const filed = shortManifest(Object.keys(logs), {
    signals: ["vehicle_pose", "vehicle_setpoint", "vehicle_rate"],
  }).replace(/orbit: \{[^}]*\}/, "orbit: { shape: logged }");
  const cut = async (last: string) => {
    const text = filed.replace(/id: "run-(\d)"/g, (id, run) => `${id}, span: ${run === "4" ? last : "[2 s, 14 s]"}`);
    return (await evaluateFlights(logs, text)).runs.map((run) => checksOf(run, "wrong-trajectory"));
  };
  expect(await cut("[2.4 s, 14.4 s]")).toEqual([[], [], [], []]);
  const [first, second, third, elsewhere] = await cut("[6 s, 18 s]");
  expect([first, second, third]).toEqual([[], [], []]);
  expect(elsewhere).toMatchObject([{ severity: "doubt" }]);
  // 8 s of 16 s
  expect(Math.abs((elsewhere![0]!.evidence.shared_share as number) - 0.5)).toBeLessThan(0.01);
});
