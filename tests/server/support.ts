import { request as httpRequest } from "node:http";
import { createApp } from "../../server/createApp.ts";
import { createService } from "../../server/createService.ts";
import { type Listening, listen } from "../../server/listen.ts";
import type { Service } from "../../server/Service.ts";
import { type Every, type ServiceEffects, serviceEffects } from "../../server/ServiceEffects.ts";
import type { ServiceState } from "../../src/contract/api/messages.ts";
import type { Recording } from "../../src/foundation/recording.ts";
import type { SimulatedFlight } from "../../src/simulation/simulateFlight.ts";
import { shortFlight, shortManifest } from "../pipeline/shortCampaign.ts";
import { memoryEffects } from "../support/simulatedCampaign.ts";

/** Three runs with the arm alone and three with counterweights, one log each. */
export const flights: Readonly<Record<string, SimulatedFlight>> = Object.fromEntries(
  [1, 2, 3, 4, 5, 6].map((seed) => [`run-${seed}.bag`, shortFlight(seed)]),
);

export const runs = Object.keys(flights).map((log, k) => ({
  log,
  id: log.replace(".bag", ""),
  configuration: k < 3 ? "bare" : "weighted",
  trajectory: "orbit",
}));

/** Files in memory whose stamps change when they are written, and a clock that ticks when told. */
export interface MemoryWorld {
  readonly files: Map<string, string>;
  readonly logs: Record<string, SimulatedFlight | Recording>;
  readonly effects: ServiceEffects;
  readonly write: (path: string, text: string) => void;
  /** says that a file changed without changing what is read */
  readonly touch: (path: string) => void;
  /** all that was asked to be called again and again is called once */
  readonly tick: () => Promise<void>;
  readonly logsRead: string[];
}

export function memoryWorld(
  manifest: string = shortManifest(runs),
  logs: Record<string, SimulatedFlight | Recording> = { ...flights },
): MemoryWorld {
  const files = new Map([["campaign.yaml", manifest]]);
  const stamps = new Map<string, number>();
  const calls = new Set<() => void>();
  const logsRead: string[] = [];
  const touch = (path: string): void => void stamps.set(path, (stamps.get(path) ?? 0) + 1);
  const write = (path: string, text: string): void => {
    files.set(path, text);
    touch(path);
  };
  const base = memoryEffects(manifest, logs);
  const effects: ServiceEffects = {
    ...serviceEffects,
    disk: {
      ...base,
      size: async (path) => files.get(path)?.length ?? (path in logs ? 1 : null),
      readText: async (path) => {
        const text = files.get(path);
        if (text === undefined) throw new Error(`no such file: ${path}`);
        return text;
      },
      writeAtomically: async (path, text) => write(path, text),
      readLog: async (paths, ...rest) => {
        logsRead.push(...paths);
        return base.readLog(paths, ...rest);
      },
    },
    stamp: async (path) => (files.has(path) || path in logs ? String(stamps.get(path) ?? 0) : ""),
    every: (_milliseconds, call) => {
      calls.add(call);
      return () => void calls.delete(call);
    },
  };
  const tick = async (): Promise<void> => {
    for (const call of [...calls]) call();
    // a look asks for stamps, which answer at once: a turn of the loop is enough
    await new Promise((resolve) => setImmediate(resolve));
  };
  return { files, logs, effects, write, touch, tick, logsRead };
}

/** Resolves when the service says what is waited for. */
export function until(service: Service, wanted: (state: ServiceState) => boolean): Promise<ServiceState> {
  return new Promise((resolve) => {
    if (wanted(service.state())) {
      resolve(service.state());
      return;
    }
    const leave = service.subscribe({
      state: (state) => {
        if (!wanted(state)) return;
        leave();
        resolve(state);
      },
      end: () => undefined,
    });
  });
}

export interface Answer {
  readonly status: number;
  readonly headers: Record<string, string | string[] | undefined>;
  readonly text: string;
  // biome-ignore lint/suspicious/noExplicitAny: what a test expects of a body it says itself
  readonly json: () => any;
}

export interface Asked {
  readonly method?: string;
  readonly headers?: Record<string, string>;
  readonly body?: string;
}

export interface Served {
  readonly service: Service;
  readonly listening: Listening;
  readonly ask: (path: string, asked?: Asked) => Promise<Answer>;
  /** a change as the dashboard's own page makes it */
  readonly change: (method: string, path: string, body: unknown) => Promise<Answer>;
  readonly close: () => Promise<void>;
}

/** The application on a free port of loopback; the path is sent as it stands. */
export async function serveApp(
  service: Service,
  options: { clientFolder?: string; onFault?: (error: unknown) => void; validate?: boolean; every?: Every } = {},
): Promise<Served> {
  let port = 0;
  const app = createApp(service, {
    port: () => port,
    clientFolder: options.clientFolder ?? "/nowhere",
    validate: options.validate ?? true,
    ...(options.every ? { every: options.every } : {}),
    ...(options.onFault ? { onFault: options.onFault } : {}),
  });
  const listening = await listen(app, 0);
  port = listening.port;
  const ask = (path: string, { method = "GET", headers = {}, body }: Asked = {}): Promise<Answer> =>
    new Promise((resolve, reject) => {
      const sent = httpRequest(
        {
          host: "127.0.0.1",
          port,
          path,
          method,
          agent: false,
          // an empty Host is sent as it stands; the length is not found out for DELETE
          setHost: false,
          headers: {
            host: `127.0.0.1:${port}`,
            ...(body === undefined ? {} : { "content-length": String(Buffer.byteLength(body)) }),
            ...headers,
          },
        },
        (response) => {
          const parts: Buffer[] = [];
          response.on("data", (part: Buffer) => parts.push(part));
          response.on("end", () => {
            const text = Buffer.concat(parts).toString("utf8");
            resolve({
              status: response.statusCode ?? 0,
              headers: response.headers,
              text,
              json: () => JSON.parse(text),
            });
          });
          response.on("error", reject);
        },
      );
      sent.on("error", reject);
      sent.end(body);
    });
  return {
    service,
    listening,
    ask,
    change: (method, path, body) =>
      ask(path, {
        method,
        headers: { origin: `http://127.0.0.1:${port}`, "content-type": "application/json" },
        body: JSON.stringify(body),
      }),
    close: async () => {
      await service.stop();
      await listening.close(100);
    },
  };
}

/** The service on a campaign in memory, evaluated, and served. */
export async function serveWorld(world: MemoryWorld): Promise<Served> {
  const service = createService("campaign.yaml", world.effects);
  const served = await serveApp(service);
  await service.start();
  return served;
}
