import { Router } from "express";
import type { ServiceState } from "../../src/contract/api/serviceState.ts";
import { CounterpoiseError } from "../../src/foundation/errors.ts";
import type { Service } from "../Service.ts";
import type { Every } from "../ServiceEffects.ts";

/** a browser opens one per window */
const mostStreams = 64;
/** proxies and sleeping machines drop what is silent */
const beatEvery = 15_000;

/** `GET /progress`: server-sent events `state`, the first at once. */
export function progressRoute(service: Service, every: Every): Router {
  let open = 0;
  return Router().get("/progress", (request, response) => {
    if (open >= mostStreams) {
      throw new CounterpoiseError(
        "too-many-streams",
        `found ${open} open streams, expected fewer than ${mostStreams}`,
        {
          hint: "close other windows of the dashboard",
        },
      );
    }
    response.writeHead(200, {
      "Content-Type": "text/event-stream; charset=utf-8",
      "Cache-Control": "no-store",
      Connection: "keep-alive",
    });
    if (request.method === "HEAD") {
      response.end();
      return;
    }
    open++;
    const send = (state: ServiceState): void => {
      response.write(`event: state\ndata: ${JSON.stringify(state)}\n\n`);
    };
    response.write("retry: 1000\n\n");
    send(service.state());
    const leave = service.subscribe({ state: send, end: () => response.end() });
    const stopBeat = every(beatEvery, () => response.write(": still here\n\n"));
    response.on("close", () => {
      open--;
      leave();
      stopBeat();
    });
  });
}
