import { existsSync } from "node:fs";
import { join } from "node:path";
import express, { type ErrorRequestHandler, type Express, Router } from "express";
import type { Fault, FaultAnswer } from "../src/contract/api/bricks.ts";
import { CounterpoiseError } from "../src/foundation/errors.ts";
import { createReply, faultOf } from "./requests.ts";
import {
  cellRoutes,
  exclusionRoutes,
  exportRoutes,
  planRoutes,
  questionRoutes,
  reasonRoutes,
} from "./routes/answerRoutes.ts";
import { campaignRoutes, progressRoute } from "./routes/campaignRoutes.ts";
import { runRoutes } from "./routes/runRoutes.ts";
import type { Service } from "./Service.ts";
import { type Every, every } from "./ServiceEffects.ts";
import { checkChange, checkHost, checkSite, noStore, safeHeaders } from "./security.ts";

/**
 * The built dashboard: the files of its folder, the page at `/`. Nothing outside the folder is ever opened.
 *
 * @param folder  looked at again for every request: it may be built while the service runs
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

/** The one table from error codes to HTTP statuses. What is not named here is a fault of the tool: 500. */
const statuses: Readonly<Record<string, number>> = {
  "bad-query": 400,
  "bad-body": 400,
  "bad-address": 400,
  "reason-refused": 400,
  "answer-refused": 400,
  "not-a-plan": 400,
  "no-sham": 400,
  blind: 403,
  "foreign-origin": 403,
  "unknown-address": 404,
  "unknown-run": 404,
  "unknown-cell": 404,
  "no-bench": 404,
  "unknown-question": 409,
  "unknown-subject": 404,
  "wrong-method": 405,
  "manifest-at-fault": 409,
  "body-too-large": 413,
  "not-json": 415,
  "wrong-host": 421,
  "log-unreadable": 422,
  "nothing-to-draw": 422,
  "not-written": 500,
  "answer-invalid": 500,
  "not-evaluated": 503,
  "too-many-streams": 503,
  "not-built": 503,
};

/** Faults of the files on the disk, reported while a change was asked for: in conflict with what is there. */
const ofTheFiles = /^(manifest|yaml|csv|exclusions?|runs|looks)-/;

/** The status of an answer that carries this fault. */
function statusOf({ code }: Pick<Fault, "code">): number {
  return statuses[code] ?? (ofTheFiles.test(code) ? 409 : 500);
}

/** the largest body taken, bytes: a reason is a sentence, and the longest list of answers names every run of a campaign */
const largestBody = 256 * 1024;

export interface AppOptions {
  /** the port it is reached under, asked for at every request: it is known only once listening */
  readonly port: () => number;
  /** folder of the built dashboard */
  readonly clientFolder: string;
  /** check answers against their schemas before they are sent; default true */
  readonly validate?: boolean;
  readonly now?: () => Date;
  readonly every?: Every;
  /** told of faults of the tool, which the client sees without their stack */
  readonly onFault?: (error: unknown) => void;
}

/** The application: who may ask, what is answered, how faults are reported. Opens no socket. */
export function createApp(service: Service, options: AppOptions): Express {
  const reply = createReply({ validate: options.validate ?? true });
  const app = express();
  app.disable("x-powered-by");
  app.disable("etag");
  app.set("query parser", "simple");
  app.use(safeHeaders, checkHost(options.port), checkChange);
  app.use(
    "/api",
    checkSite,
    noStore,
    express.json({ limit: largestBody, strict: true }),
    campaignRoutes(service, reply),
    runRoutes(service, reply),
    cellRoutes(service, reply),
    reasonRoutes(service, reply),
    planRoutes(service, reply),
    exclusionRoutes(service, reply, options.now ?? (() => new Date())),
    questionRoutes(service, reply),
    progressRoute(service, options.every ?? every),
    exportRoutes(service),
    (request) => {
      throw new CounterpoiseError("unknown-address", `found no answer to ${request.method} here`, {
        hint: "GET /api/campaign is where to start",
      });
    },
  );
  app.use(clientFiles(options.clientFolder));
  app.use(tellFault(options.onFault ?? (() => undefined)));
  return app;
}

function tellFault(onFault: (error: unknown) => void): ErrorRequestHandler {
  // four parameters: Express knows a handler of faults by their number
  return (error: unknown, _request, response, next) => {
    if (response.headersSent) return next(error);
    const known = asKnown(error);
    const fault = faultOf(known);
    const status = statusOf(fault);
    if (status === 500) onFault(error);
    if (status === 503) response.setHeader("Retry-After", "1");
    response
      .status(status)
      .set("Cache-Control", "no-store")
      .json({ error: fault } satisfies FaultAnswer);
  };
}

/** What Express and its body parser throw, in our own words. */
function asKnown(error: unknown): unknown {
  if (error instanceof CounterpoiseError || typeof error !== "object" || error === null) return error;
  const { type, status } = error as { type?: unknown; status?: unknown };
  if (type === "entity.too.large") {
    return new CounterpoiseError("body-too-large", `found a body too large, expected at most ${largestBody} bytes`);
  }
  if (type === "charset.unsupported" || type === "encoding.unsupported") {
    return new CounterpoiseError("not-json", "found a body in an unknown encoding, expected JSON in UTF-8");
  }
  if (typeof type === "string" && typeof status === "number" && status < 500) {
    return new CounterpoiseError("bad-body", "found a body that cannot be read, expected JSON");
  }
  if (status === 400 && !(error instanceof URIError)) {
    return new CounterpoiseError("bad-body", "found a body that cannot be read, expected JSON");
  }
  if (error instanceof URIError) {
    return new CounterpoiseError(
      "bad-address",
      "found an address that cannot be decoded, expected percent-encoded UTF-8",
    );
  }
  if (status === 403 || status === 404)
    return new CounterpoiseError("unknown-address", "found nothing under this address");
  return error;
}
