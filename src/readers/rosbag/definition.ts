/** Whether a message definition's first field is a std_msgs/Header, whose stamp is then the message's. */
export function startsWithHeader(definition: string): boolean {
  for (const line of definition.split("\n")) {
    const code = line.split("#")[0]!.trim();
    if (code.startsWith("===")) return false;
    if (code === "" || code.includes("=")) continue;
    return /^(std_msgs\/)?Header\s+\w+$/.test(code);
  }
  return false;
}
