/** Hands a file to the reader. Made as a data or blob address here, it never leaves the machine. */
export function downloadBlob(name: string, blob: Blob): void {
  const address = URL.createObjectURL(blob);
  const link = document.createElement("a");
  link.href = address;
  link.download = name;
  document.body.append(link);
  link.click();
  link.remove();
  // the browser has the file only once the click has been dealt with
  setTimeout(() => URL.revokeObjectURL(address), 10_000);
}

export function downloadText(name: string, type: string, text: string): void {
  downloadBlob(name, new Blob([text], { type: `${type};charset=utf-8` }));
}

/** A name that every file system takes. */
export function fileName(text: string): string {
  const plain = text
    .normalize("NFKD")
    .replace(/[^\w.-]+/g, "-")
    .replace(/^[-.]+|[-.]+$/g, "");
  return plain.slice(0, 80) || "figure";
}
