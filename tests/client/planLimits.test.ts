import { expect, test } from "vitest";
import { most } from "../../client/views/planView.ts";
import { planLimits } from "../../src/contract/api/queries.ts";

test("the page's limits are those that the service holds", () => {
  expect(most).toEqual(planLimits);
});
