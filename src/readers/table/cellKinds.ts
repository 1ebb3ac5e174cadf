/** Numbers as tables write them, with a decimal point and with a decimal comma. */
export const withPoint = /^[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?$/;
export const withComma = /^[+-]?(\d+,\d*|,\d+)([eE][+-]?\d+)?$/;
/** may as well be a whole number with its thousands parted */
export const parted = /^[+-]?[1-9]\d{0,2},\d{3}$/;
export const emptyCell = /^([+-]?(nan|inf|infinity)|null|none|n\/?a|nil|-+|\?+|#n\/a)?$/i;
const dateCell = /^(\d{4}[-/.]\d\d?[-/.]\d\d?([Tt ].*)?|\d\d?:\d\d:\d\d([.,]\d+)?)$/;

export const comment = /^\s*(#+|%+|\/\/)/;

/** Whether a line may be a row or a heading: no comment, not empty. */
export const isFilled = (line: string): boolean => line.trim() !== "" && !comment.test(line);

/** Whether a cell is a number, a date or a time of day. */
export function isNumber(cell: string): boolean {
  return withPoint.test(cell) || withComma.test(cell) || dateCell.test(cell);
}
