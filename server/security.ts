import type { RequestHandler } from "express";
import helmet from "helmet";
import { CounterpoiseError } from "../src/foundation/errors.ts";

/** The addresses under which this service may be asked for. Anything else is another site's name pointed at this machine. */
export function allowedHosts(port: number): readonly string[] {
  const names = ["127.0.0.1", "localhost"];
  // the port of plain http is left out by browsers
  return [...names.map((name) => `${name}:${port}`), ...(port === 80 ? names : [])];
}

/**
 * Refuses requests whose Host is not this machine's own: without it a site could point its name here and read along (DNS
 * rebinding).
 */
export function checkHost(port: () => number): RequestHandler {
  return (request, _response, next) => {
    const host = request.headers.host?.toLowerCase() ?? "";
    const allowed = allowedHosts(port());
    if (allowed.includes(host)) return next();
    throw new CounterpoiseError(
      "wrong-host",
      `found the host ${JSON.stringify(host)}, expected ${allowed.join(" or ")}`,
      {
        hint: `open http://${allowed[0]}`,
      },
    );
  };
}

const harmless = new Set(["GET", "HEAD"]);
const changing = new Set(["POST", "DELETE"]);

/**
 * Lets a request change something only where it comes from this service's own pages: same origin, and a JSON body, which
 * a form of another site cannot send.
 */
export const checkChange: RequestHandler = (request, _response, next) => {
  const { method, headers } = request;
  if (harmless.has(method)) return next();
  if (!changing.has(method)) {
    throw new CounterpoiseError("wrong-method", `found the method ${method}, expected GET, POST or DELETE`);
  }
  const own = `http://${headers.host?.toLowerCase()}`;
  if (headers.origin !== own) {
    const found = headers.origin === undefined ? "no origin" : `the origin ${JSON.stringify(headers.origin)}`;
    throw new CounterpoiseError("foreign-origin", `found ${found}, expected ${own}`, {
      hint: "changes are taken from the dashboard's own pages only",
    });
  }
  if (!/^application\/json\s*(;|$)/i.test(headers["content-type"] ?? "")) {
    throw new CounterpoiseError(
      "not-json",
      `found the content type ${JSON.stringify(headers["content-type"] ?? "")}, expected application/json`,
    );
  }
  next();
};

/**
 * Refuses what a browser says another site's page asked for: it could not read the answer, but it could keep the service
 * busy. Programs that are no browsers send no such word.
 */
export const checkSite: RequestHandler = (request, _response, next) => {
  const site = request.headers["sec-fetch-site"];
  if (site === undefined || site === "same-origin" || site === "none") return next();
  throw new CounterpoiseError(
    "foreign-origin",
    `found a request from a ${String(site)} page, expected the dashboard's own`,
  );
};

/** Strict headers: nothing but this service's own files runs, is shown or is asked for; no inline script or style. */
export const safeHeaders: RequestHandler = helmet({
  contentSecurityPolicy: {
    useDefaults: false,
    directives: {
      defaultSrc: ["'none'"],
      scriptSrc: ["'self'"],
      styleSrc: ["'self'"],
      fontSrc: ["'self'"],
      connectSrc: ["'self'"],
      manifestSrc: ["'self'"],
      // figures become PNG by way of an image of their own SVG
      imgSrc: ["'self'", "data:"],
      baseUri: ["'none'"],
      formAction: ["'none'"],
      frameAncestors: ["'none'"],
    },
  },
  // plain http on loopback
  strictTransportSecurity: false,
  referrerPolicy: { policy: "no-referrer" },
  xFrameOptions: { action: "deny" },
});

/** What the API says is true now only. */
export const noStore: RequestHandler = (_request, response, next) => {
  response.setHeader("Cache-Control", "no-store");
  next();
};
