import { expect, test } from "vitest";
import { spanOf } from "../../src/contract/campaignParts.ts";

test("one span is that of every log; of spans by name each log has its own or none", () => {
  expect(spanOf({ span: [30, 95] }, "")).toEqual([30, 95]);
  expect(spanOf({ span: [30, 95] }, "onboard")).toEqual([30, 95]);
  expect(spanOf({ span: { mocap: [30, 95] } }, "mocap")).toEqual([30, 95]);
  expect(spanOf({ span: { mocap: [30, 95] } }, "onboard")).toBeNull();
  expect(spanOf({ span: { mocap: [30, 95] } }, "toString")).toBeNull();
  expect(spanOf({ span: null }, "mocap")).toBeNull();
});
