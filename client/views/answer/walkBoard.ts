/** Arrow keys lead from cell to cell of a board; Tab goes on leading through all of them. */
export function walkBoard(table: HTMLTableElement): void {
  table.addEventListener("keydown", (event) => {
    const step = steps[event.key];
    const link = (event.target as Element).closest("a.cell-link");
    if (step === undefined || link === null || event.altKey || event.ctrlKey || event.metaKey) return;
    const rows = [...table.querySelectorAll("tr")]
      .map((row) => [...row.querySelectorAll<HTMLAnchorElement>("a.cell-link")])
      .filter((row) => row.length > 0);
    const at = rows.findIndex((row) => row.includes(link as HTMLAnchorElement));
    const next = rows[at + step.down]?.[rows[at]!.indexOf(link as HTMLAnchorElement) + step.across];
    if (next === undefined) return;
    event.preventDefault();
    next.focus();
  });
}

const steps: Readonly<Record<string, { across: number; down: number }>> = {
  ArrowLeft: { across: -1, down: 0 },
  ArrowRight: { across: 1, down: 0 },
  ArrowUp: { across: 0, down: -1 },
  ArrowDown: { across: 0, down: 1 },
};
