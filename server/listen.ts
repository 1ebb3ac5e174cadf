import { createServer, type RequestListener, type Server } from "node:http";
import { ArgumentError } from "../src/foundation/errors.ts";

/** Only this machine: nothing that is not on it can reach the service. */
const loopback = "127.0.0.1";
const tries = 20;

export interface Listening {
  readonly server: Server;
  readonly port: number;
  readonly address: string;
  /** Takes no more requests, ends idle connections, and resolves when the last is done or after `patience` ms. */
  readonly close: (patience?: number) => Promise<void>;
}

/**
 * Listens on loopback, on the port wanted or the next free one.
 *
 * @param wanted  port; 0: any free one
 * @throws ArgumentError  code `no-free-port`: that port and the next 20 are taken
 */
export async function listen(app: RequestListener, wanted: number): Promise<Listening> {
  for (let port = wanted; port <= Math.min(65_535, wanted + (wanted === 0 ? 0 : tries)); port++) {
    // looked at every 5 s: every 30 s, as is usual, would let a slow body last for a minute
    const patience = { requestTimeout: 30_000, headersTimeout: 10_000, connectionsCheckingInterval: 5000 };
    const server = createServer({ ...patience, maxHeaderSize: 16 * 1024 }, app);
    if (!(await tryPort(server, port))) continue;
    const address = server.address();
    const found = typeof address === "object" && address !== null ? address.port : port;
    return {
      server,
      port: found,
      address: `http://${loopback}:${found}`,
      close: (patience) => close(server, patience),
    };
  }
  throw new ArgumentError("no-free-port", `found no free port from ${wanted} to ${wanted + tries}`, {
    hint: "name another with --port",
  });
}

function tryPort(server: Server, port: number): Promise<boolean> {
  return new Promise((resolve, reject) => {
    server.once("error", (error: NodeJS.ErrnoException) => {
      if (error.code === "EADDRINUSE" || error.code === "EACCES") resolve(false);
      else reject(error);
    });
    server.listen(port, loopback, () => resolve(true));
  });
}

async function close(server: Server, patience = 2000): Promise<void> {
  const closed = new Promise<void>((resolve) => server.close(() => resolve()));
  server.closeIdleConnections();
  const timer = setTimeout(() => server.closeAllConnections(), patience);
  await closed;
  clearTimeout(timer);
}
