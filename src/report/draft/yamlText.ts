/** Plain where YAML reads it as the same text, else quoted. */
export function yamlText(text: string): string {
  return /^[A-Za-z/][A-Za-z0-9/_.-]*$/.test(text) && !/^(true|false|yes|no|on|off|null|y|n)$/i.test(text)
    ? text
    : JSON.stringify(text);
}

/** `{ a: 1, b: 2 }` from texts that are YAML already. */
export function yamlMapping(entries: Readonly<Record<string, string>>): string {
  const parts = Object.entries(entries).map(([key, value]) => `${yamlText(key)}: ${value}`);
  return `{ ${parts.join(", ")} }`;
}

/** Without line breaks and other control characters: fit for a comment. */
export function oneLine(text: string): string {
  return text.replace(/[\p{Cc}\p{Zl}\p{Zp}]/gu, " ");
}
