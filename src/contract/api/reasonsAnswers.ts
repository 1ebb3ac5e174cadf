import * as z from "zod";
import { auditSchema } from "../audit.ts";
import { evaluationSchema } from "../evaluation.ts";
import { flightDaySchema, planSchema } from "../plan.ts";
import { reasonsSchema } from "../reasons.ts";

/** `GET /api/reasons`: why the differences are as they are, and in words what moves as flown and what is left to balance (suggestions, with cautions). */
export const reasonsAnswerSchema = z.strictObject({
  reasons: reasonsSchema,
  moving: z.array(z.strictObject({ text: z.string(), items: z.array(z.string()) })),
  imbalance: z.array(z.string()),
});
export type ReasonsAnswer = z.infer<typeof reasonsAnswerSchema>;

/** `GET /api/audit`: what else could have made the difference, what was fitted, how often it was looked at. */
export const auditAnswerSchema = z.strictObject({
  audit: auditSchema,
  fitted: evaluationSchema.shape.fitted,
  /** null where the service is blind: no look is counted */
  looks: evaluationSchema.shape.looks.nullable(),
});
export type AuditAnswer = z.infer<typeof auditAnswerSchema>;

/** `GET /api/plan`: forecasts for a design, and an order to fly it in. */
export const planAnswerSchema = z.strictObject({ plan: planSchema, day: flightDaySchema });
export type PlanAnswer = z.infer<typeof planAnswerSchema>;
