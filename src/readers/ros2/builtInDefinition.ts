import { withoutMsg } from "../messages/definition.ts";
import { commonTypes } from "./commonTypes.ts";

/**
 * The definition of a type for a log that holds none (ROS 2 stored none before storage version 4), with those of the types
 * it is made of; "" where we know none.
 */
export function builtInDefinition(type: string): string {
  const root = withoutMsg(type);
  if (!Object.hasOwn(commonTypes, root)) return "";
  const needed = new Map<string, string>();
  const waiting = [root];
  for (let name = waiting.pop(); name !== undefined; name = waiting.pop()) {
    if (needed.has(name)) continue;
    const fields = commonTypes[name]!;
    needed.set(name, fields);
    for (const [, inner] of fields.matchAll(/(?:^|;)\s*([a-z_0-9]+\/[A-Za-z0-9]+)/g))
      if (inner !== undefined && Object.hasOwn(commonTypes, inner)) waiting.push(inner);
  }
  const text = (fields: string): string =>
    fields
      .split(";")
      .map((field) => field.trim())
      .join("\n");
  const [own, ...others] = needed;
  return [text(own![1]), ...others.map(([name, fields]) => `${"=".repeat(80)}\nMSG: ${name}\n${text(fields)}`)].join(
    "\n",
  );
}
