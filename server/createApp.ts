import express, { type ErrorRequestHandler, type Express } from "express";
import type { FaultAnswer } from "../src/contract/api/fault.ts";
import { CounterpoiseError } from "../src/foundation/errors.ts";
import { clientFiles } from "./clientFiles.ts";
import { faultOf } from "./faultOf.ts";
import { createReply } from "./reply.ts";
import { campaignRoutes } from "./routes/campaignRoutes.ts";
import { cellRoutes } from "./routes/cellRoutes.ts";
import { exclusionRoutes } from "./routes/exclusionRoutes.ts";
import { exportRoutes } from "./routes/exportRoutes.ts";
import { planRoutes } from "./routes/planRoutes.ts";
import { progressRoute } from "./routes/progressRoute.ts";
import { reasonRoutes } from "./routes/reasonRoutes.ts";
import { runRoutes } from "./routes/runRoutes.ts";
import type { Service } from "./Service.ts";
import { type Every, every } from "./ServiceEffects.ts";
import { checkChange, checkHost, checkSite, noStore, safeHeaders } from "./security.ts";
import { statusOf } from "./statusOf.ts";

/** the largest body taken, bytes: a reason is a sentence */
const largestBody = 16 * 1024;

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

/** The application: who may ask, what is answered, how faults are told. Opens no socket. */
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
