import { cp, mkdir, readdir, readFile, writeFile } from "node:fs/promises";
import { join, resolve } from "node:path";
import { Marked } from "marked";
import { rolldown } from "rolldown";

/**
 * Writes client/manual as pages of the dashboard (dist/client/manual, or the folder named): one page a file, links between
 * them kept, an anchor at every heading, the data dictionary under its own. No script and no style stands in them: the pages' policy forbids it.
 */
const root = join(import.meta.dirname, "..");
const from = join(root, "client/manual");
const to = resolve(process.argv[2] ?? join(root, "dist/client/manual"));

/** "What a pair shows" -> "what-a-pair-shows", as code hosts make it */
const anchorOf = (text) =>
  text
    .toLowerCase()
    .replace(/[^\p{L}\p{N}\s_-]/gu, "")
    .trim()
    .replace(/\s+/g, "-");

const escaped = (text) => text.replaceAll("&", "&amp;").replaceAll("<", "&lt;").replaceAll(">", "&gt;");

const marked = new Marked({
  renderer: {
    heading({ tokens, depth, text }) {
      return `<h${depth} id="${anchorOf(text)}">${this.parser.parseInline(tokens)}</h${depth}>\n`;
    },
    link({ href, tokens }) {
      const address = href.replace(/^([a-z-]+)\.md(#.*)?$/, "$1.html$2");
      return `<a href="${escaped(address)}">${this.parser.parseInline(tokens)}</a>`;
    },
    // what is no Markdown is text: the manual holds no markup of its own
    html: ({ text }) => escaped(text),
  },
});
// a page leads to the very paragraph: rows of a method and points of a list bear the words that they begin with
const named = (html) =>
  html
    .replace(
      /<tr>(\s*<td[^>]*>)([^<]+)<\/td>/g,
      (_whole, cell, words) => `<tr id="${anchorOf(plain(words))}">${cell}${words}</td>`,
    )
    .replace(
      /<li><strong>([^<]+)<\/strong>/g,
      (_whole, words) => `<li id="${anchorOf(plain(words))}"><strong>${words}</strong>`,
    );
/** the first of what begins alike bears the name */
const once = (html) => {
  const known = new Set();
  return html.replace(/ id="([^"]*)"/g, (whole, id) => {
    const kept = id !== "" && !known.has(id);
    known.add(id);
    return kept ? whole : "";
  });
};
const plain = (text) => text.replace(/&[a-z0-9#]+;/g, " ");
// wide tables scroll by themselves, not the page; who reads by keyboard can reach them
const scrolling = (html) =>
  html
    .replaceAll("<table>", '<div class="scroll" tabindex="0" role="region" aria-label="Table"><table class="figures">')
    .replaceAll("</table>", "</table></div>")
    .replaceAll("<pre>", '<pre tabindex="0">');

const names = (await readdir(from)).filter((name) => name.endsWith(".md")).map((name) => name.slice(0, -3));
const titles = new Map();
const texts = new Map();
for (const name of names) {
  const text = await readFile(join(from, `${name}.md`), "utf8");
  titles.set(name, /^# (.*)$/m.exec(text)?.[1] ?? name);
  texts.set(name, text);
}
texts.set("evaluation", `${texts.get("evaluation")}\n${await dictionary()}`);
// in the order of the index
const ordered = [...texts.get("index").matchAll(/\]\(([a-z-]+)\.md\)/g)].map(([, name]) => name);
const link = (name, here) =>
  `<li><a href="${name}.html"${name === here ? ' aria-current="page"' : ""}>${escaped(titles.get(name))}</a></li>`;

await mkdir(to, { recursive: true });
for (const name of names) {
  const html = `<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="color-scheme" content="light dark">
<title>${escaped(titles.get(name))} - Counterpoise</title>
<link rel="icon" href="../mark.svg" type="image/svg+xml">
<link rel="stylesheet" href="manual.css">
</head>
<body class="manual">
<nav aria-label="Manual"><ul><li><a href="../">Dashboard</a></li>${["index", ...ordered].map((each) => link(each, name)).join("")}</ul></nav>
<main>
${once(named(scrolling(marked.parse(texts.get(name)))))}</main>
</body>
</html>
`;
  await writeFile(join(to, `${name}.html`), html);
}
const styles = ["colours", "page", "tables", "manual"].map((name) =>
  readFile(join(root, `client/style/${name}.css`), "utf8"),
);
await writeFile(join(to, "manual.css"), (await Promise.all(styles)).join("\n"));
await cp(join(from, "pictures"), join(to, "pictures"), { recursive: true });

/** Tables of every key of evaluation.json, from the sources. */
async function dictionary() {
  const bundle = await rolldown({
    input: join(root, "tools/dictionary.ts"),
    platform: "node",
    checks: { eval: false },
  });
  const { output } = await bundle.generate({ format: "esm" });
  await bundle.close();
  const { evaluationDictionary } = await import(`data:text/javascript,${encodeURIComponent(output[0].code)}`);
  return evaluationDictionary();
}
