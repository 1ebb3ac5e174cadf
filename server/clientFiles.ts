import { existsSync } from "node:fs";
import { join } from "node:path";
import express, { Router } from "express";
import { CounterpoiseError } from "../src/foundation/errors.ts";

/**
 * The built dashboard: the files of its folder, the page at `/`. Nothing outside the folder is ever opened.
 *
 * @param folder  looked at anew for every request: it may be built while the service runs
 */
export function clientFiles(folder: string): Router {
  return (
    Router()
      // the manual's pages link to one another from within its folder
      .get("/manual", (request, response, next) => {
        if (request.path.endsWith("/")) next();
        else response.redirect(308, "/manual/");
      })
      .use(
        express.static(folder, {
          dotfiles: "ignore",
          redirect: false,
          setHeaders: (response, path) => {
            // the bundler writes a hash into the names of all but the page
            const hashed = /[/\\]assets[/\\]/.test(path);
            response.setHeader("Cache-Control", hashed ? "public, max-age=31536000, immutable" : "no-cache");
          },
        }),
      )
      .use((request, response) => {
        if (request.path === "/" && !existsSync(join(folder, "index.html"))) {
          response.status(503).type("text/html").set("Cache-Control", "no-store").send(notBuilt);
          return;
        }
        throw new CounterpoiseError("unknown-address", `found no answer to ${request.method} here`);
      })
  );
}

const notBuilt = `<!doctype html>
<html lang="en">
<meta charset="utf-8">
<title>Counterpoise: the dashboard is not built</title>
<h1>The dashboard is not built</h1>
<p>The service runs, but its pages have not been built yet. In the program's folder run</p>
<pre>npm run build</pre>
<p>and load this page again. The figures are already at <a href="/api/evaluation">/api/evaluation</a>.</p>
</html>
`;
