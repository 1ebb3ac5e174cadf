import { csvParseRows } from "d3-dsv";
import { closingQuote } from "../../foundation/csvField.ts";
import { likelyName } from "../../foundation/nearest.ts";
import { listed } from "./fields.ts";
import { PlaceBook, type Position, type ProblemList, stopAt } from "./problems.ts";
import { describeFound, type TextTree } from "./textTree.ts";
import { cleanText, type PlacedTree } from "./yamlTree.ts";

/**
 * Reads a table of runs: a header, then one run a line; the rows become the same tree that inline runs give.
 *
 * Columns are the keys of a run. `log` may hold the parts of a split log, separated by `;`. `logs.mocap`,
 * `logs.onboard` ... name the logs of a run that has several. `span` is written "30 s..95 s", or in the two columns
 * `span_start` and `span_end`; that of one of several logs in `span.NAME`. An empty cell says nothing; blank lines are skipped.
 *
 * @param options.file      the table's name, for places
 * @param options.columns   names a column can have, besides `logs.NAME`, `span.NAME`, `span_start` and `span_end`
 * @param options.problems  takes what is wrong: an unknown, repeated or empty column name; a row with more or fewer cells
 *   than the header. Such columns and rows are left out of the tree.
 * @returns a list of mappings (rows); the places know it under `runs`, as in a manifest
 * @throws ManifestProblemsError  as `cleanText`; `csv-syntax` for a quote that is never closed
 */
export function readCsvTree(
  text: string,
  options: { file: string; columns: readonly string[]; problems: ProblemList },
): PlacedTree {
  const { file, problems } = options;
  const clean = cleanText(text, file);
  const rows = csvParseRows(clean);
  const positions = cellPositions(clean, file);
  const header = readHeaderRow(rows[0] ?? [], positions[0] ?? [], options);
  const places = new PlaceBook(file);
  const root: TextTree[] = [];
  for (const [index, cells] of rows.entries()) {
    const at = positions[index] ?? [];
    if (index === 0 || cells.every((cell) => cell.trim() === "")) continue;
    if (cells.length !== header.length) {
      const message = `found ${cells.length} cells, expected ${header.length} as in the header`;
      problems.add(file, at[0]!, message, "put texts that hold commas in double quotes, and separate cells by commas");
      continue;
    }
    const run = rowTree(header, cells, { at, places });
    places.note(root, root.length, at[0]!, at[0]!);
    root.push(run);
  }
  const table = { runs: root };
  places.note(table, "runs", { line: 1, column: 1 }, { line: 1, column: 1 });
  places.setRoot(table, { line: 1, column: 1 });
  return { root, places };
}

/** Names of the columns; null where a column is to be left out. */
function readHeaderRow(
  cells: readonly string[],
  at: readonly Position[],
  { file, columns, problems }: { file: string; columns: readonly string[]; problems: ProblemList },
): (string | null)[] {
  const known = [...columns.filter((name) => name !== "logs"), "span_start", "span_end"];
  const names = cells.map((cell) => cell.trim());
  return names.map((name, index) => {
    if (names.indexOf(name) !== index) {
      problems.add(file, at[index]!, `found the column "${name}" a second time, expected it once`, "keep one of them");
      return null;
    }
    if (known.includes(name) || /^(logs|span)\../.test(name)) return name;
    const near = likelyName(name, known);
    const semicolons = names.length === 1 && name.includes(";");
    const hint = semicolons ? "separate cells by commas" : near === null ? "leave it out" : `did you mean ${near}?`;
    problems.add(
      file,
      at[index]!,
      `found the unknown column ${describeFound(name)}, expected ${listed(known)}, logs.NAME or span.NAME`,
      hint,
    );
    return null;
  });
}

function rowTree(
  header: readonly (string | null)[],
  cells: readonly string[],
  { at, places }: { at: readonly Position[]; places: PlaceBook },
): TextTree {
  const run: Record<string, TextTree> = Object.create(null);
  const logs: Record<string, TextTree> = Object.create(null);
  const span: (string | null)[] = [null, null];
  const spans: Record<string, TextTree> = Object.create(null);
  const put = (container: object, step: string | number, column: number, value: TextTree): void => {
    (container as Record<string | number, TextTree>)[step] = value;
    places.note(container, step, at[column]!, at[column]!);
  };
  // none wins over another in silence: what is no span is complained of in its place
  const putSpan = (column: number, value: TextTree): void =>
    put(run, "span", column, run.span === undefined || run.span === value ? value : "two spans in one row");
  for (const [column, name] of header.entries()) {
    const cell = cells[column]!.trim();
    if (cell === "" || name === null) continue;
    if (name === "log") put(run, name, column, parts(cell));
    else if (name.startsWith("logs.")) {
      put(logs, name.slice("logs.".length), column, parts(cell));
      put(run, "logs", column, logs);
    } else if (name.startsWith("span.")) {
      put(spans, name.slice("span.".length), column, cell);
      putSpan(column, spans);
    } else if (name === "span_start" || name === "span_end") {
      put(span, name === "span_start" ? 0 : 1, column, cell);
      putSpan(column, span);
    } else if (name === "span") putSpan(column, cell);
    else put(run, name, column, cell);
  }
  return run;
}

function parts(cell: string): TextTree {
  const found = cell.split(";").map((part) => part.trim());
  return found.length === 1 ? cell : found;
}

/** Where every cell begins; the library that splits the cells does not say. */
function cellPositions(text: string, file: string): Position[][] {
  const rows: Position[][] = [];
  let [line, lineStart, offset] = [1, 0, 0];
  while (offset < text.length) {
    const row: Position[] = [];
    rows.push(row);
    for (let isLast = false; !isLast; ) {
      const position = { line, column: offset - lineStart + 1 };
      row.push(position);
      const end = endOfCell(text, offset, { file, position });
      // within quotes a cell may go over several lines
      for (let at = text.indexOf("\n", offset); at >= 0 && at < end; at = text.indexOf("\n", at + 1)) {
        line++;
        lineStart = at + 1;
      }
      isLast = text[end] !== ",";
      offset = isLast ? end : end + 1;
    }
    if (text[offset] === "\r") offset++;
    if (text[offset] === "\n") offset++;
    line++;
    lineStart = offset;
  }
  return rows;
}

/** Offset of what ends the cell that begins at `from`: a comma, a line's end or the text's. */
function endOfCell(text: string, from: number, place: { file: string; position: Position }): number {
  let end = from;
  if (text[from] === '"') {
    end = closingQuote(text, from + 1) + 1;
    if (end === 0)
      throw stopAt(
        "csv-syntax",
        place,
        "found a quote that is never closed, expected a closing one",
        'write a quote inside a text as ""',
      );
  }
  while (end < text.length && !",\r\n".includes(text[end]!)) end++;
  return end;
}
