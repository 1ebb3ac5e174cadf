/**
 * Style of the printed cards. Two flights to a page, on A4 (297 mm high) as on Letter (279 mm): what is narrower in one is
 * shorter in the other, so lengths are kept to what both hold. Light, for ink.
 */
export const cardsStyle = `
:root { color-scheme: light; }
@page { margin: 12mm; }
* { box-sizing: border-box; }
body { margin: 0 auto; padding: 8mm; max-width: 195mm; font: 10pt/1.35 Georgia, "Times New Roman", serif; color: #111; background: #fff; }
h1, h2, h3, p, ul, table { margin: 0; }
h1 { font-size: 18pt; font-weight: normal; border-bottom: 2pt solid #111; padding-bottom: 1mm; }
h2 { font-size: 13pt; margin: 5mm 0 1mm; }
h3 { font-size: 10pt; margin: 2mm 0 .5mm; }
h1, h2, p, td, li { overflow-wrap: anywhere; }
p { margin-top: 1mm; }
table { border-collapse: collapse; width: 100%; font-size: 9pt; }
th, td { text-align: left; vertical-align: top; padding: .4mm 2mm .4mm 0; border-bottom: .5pt solid #999; }
th { white-space: nowrap; }
tr { break-inside: avoid; }
.next td { border-top: 1.2pt solid #111; }
.card { border: 1pt solid #111; padding: 3mm 4mm; margin-top: 6mm; break-inside: avoid; }
.card h2 { display: flex; justify-content: space-between; gap: 5mm; margin: 0; border-bottom: .5pt solid #111; padding-bottom: .5mm; }
.card h2 span { font-weight: normal; font-size: 10pt; flex: none; max-width: 60%; }
.what { font-size: 14pt; line-height: 1.2; }
.refit { border-left: 3pt solid #111; padding-left: 2mm; font-weight: bold; }
.parts { display: grid; grid-template-columns: 1fr 1fr; gap: 0 6mm; }
ul { padding: 0; list-style: none; }
li { padding-left: 5mm; text-indent: -5mm; margin-top: 1.1mm; }
.tick li::before { content: ""; display: inline-block; width: 2.8mm; height: 2.8mm; margin-right: 2.2mm; border: .8pt solid #111; vertical-align: -.3mm; }
.dash li::before { content: "\\2013"; display: inline-block; width: 5mm; text-indent: 0; }
.blank { display: inline-block; min-width: 18mm; border-bottom: .8pt solid #111; text-indent: 0; }
.long { min-width: 42mm; }
.fill { display: flex; align-items: flex-end; gap: 2mm; min-height: 7mm; margin: 0; }
.fill i { flex: 1 0 30mm; border-bottom: .8pt solid #111; }
@media print {
  body { padding: 0; max-width: none; }
  .card { margin-top: 0; margin-bottom: 5mm; }
  .cover, .page { break-after: page; }
  .page:last-child { break-after: auto; }
}
`;
