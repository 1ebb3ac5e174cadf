import { expect, test } from "vitest";
import { most } from "../../client/views/plan/planControls.ts";
import { planLimits } from "../../src/contract/api/queries.ts";

test("the page's limits are those that the service holds", () => {
  expect(most).toEqual(planLimits);
});
