import { existsSync } from "node:fs";
import { fileURLToPath } from "node:url";
import { createApp } from "../../../server/createApp.ts";
import { createService } from "../../../server/createService.ts";
import { journeyThread } from "../../../server/journeyThread.ts";
import { listen } from "../../../server/listen.ts";
import type { Service } from "../../../server/Service.ts";
import { serviceEffects } from "../../../server/ServiceEffects.ts";
import type { ServiceState } from "../../contract/api/messages.ts";
import { ArgumentError, ManifestError } from "../../foundation/errors.ts";
import type { KeepingWish } from "../../pipeline/kept/keeping.ts";
import { plainText } from "../../report/text/layout.ts";
import { type CommandInput, keepingWish, manifestPath, type Terminal } from "../Command.ts";
import { progressLine } from "../readArguments.ts";

/** four-two-seven-oh: nothing well known lives there */
const usualPort = 4270;
/** a service that does not end within this after it was told to is cut off, milliseconds */
const patience = 2000;

/** The built dashboard lies beside the folder of the built commands; run from the sources, in dist/. */
const clientFolders = ["../client/", "../../../dist/client/"].map((path) =>
  fileURLToPath(new URL(path, import.meta.url)),
);

/** What the command stands on. Tests pass their own. */
export interface ServeSurroundings {
  readonly createService: (
    manifest: string,
    options: { readonly blind: boolean; readonly keeping: KeepingWish },
  ) => Service;
  /** resolves when the program is told to stop */
  readonly toldToStop: () => Promise<void>;
  /** ends the process where an evaluation in other threads cannot be stopped */
  readonly cutOff: () => void;
}

const surroundings: ServeSurroundings = {
  createService: (manifest, { keeping, ...options }) =>
    createService(manifest, { ...serviceEffects, ...journeyThread(undefined, keeping) }, options),
  toldToStop: () =>
    new Promise((resolve) => {
      const stop = (): void => {
        // a second signal ends the process at once
        process.off("SIGINT", stop).off("SIGTERM", stop);
        resolve();
      };
      process.on("SIGINT", stop).on("SIGTERM", stop);
    }),
  cutOff: () => process.exit(0),
};

/**
 * `counterpoise serve MANIFEST`: evaluates and serves the dashboard on loopback until it is told to stop.
 *
 * A manifest at fault is no end: the page tells the fault, and the service evaluates again when it is mended. One that leaves places
 * open is asked about on the page Set-up; the answer then stays closed until it is opened there.
 *
 * @returns 0 once stopped by SIGINT or SIGTERM
 * @throws ArgumentError  a port that is none, no free port, no manifest in the folder
 * @throws ManifestError  code `manifest-missing`
 */
export async function serve(
  input: CommandInput,
  terminal: Terminal,
  around: ServeSurroundings = surroundings,
): Promise<number> {
  const { flags, values, operands } = input;
  const manifest = manifestPath(operands[0]!);
  const wanted = portOf(values.get("port"));
  if (!existsSync(manifest)) {
    throw new ManifestError("manifest-missing", "found no such file, expected a campaign manifest", {
      place: manifest,
      hint: "give the path of a campaign.yaml; `counterpoise inspect LOG` prints one to start from",
    });
  }
  const service = around.createService(manifest, { blind: flags.has("blind"), keeping: keepingWish(input) });
  const stop = around.toldToStop();
  let port = wanted;
  const app = createApp(service, {
    port: () => port,
    clientFolder: clientFolders.find(existsSync) ?? clientFolders[0]!,
    onFault: (error) => {
      const stack = terminal.debug && error instanceof Error ? error.stack : null;
      terminal.err(`counterpoise: ${plainText(error instanceof Error ? error.message : String(error))}\n`);
      if (stack) terminal.err(`${stack}\n`);
    },
  });
  const listening = await listen(app, wanted);
  port = listening.port;
  if (wanted !== 0 && port !== wanted) terminal.out(`Port ${wanted} is taken; the next free one is ${port}.\n`);
  terminal.out(`Dashboard: ${listening.address}/ (this machine only; Ctrl+C stops it)\n`);
  tellProgress(service, terminal);
  void service.start();
  await stop;
  terminal.out("Stopping.\n");
  const timer = setTimeout(around.cutOff, 2 * patience);
  await Promise.all([service.stop(), listening.close(patience)]);
  clearTimeout(timer);
  return 0;
}

function portOf(text: string | undefined): number {
  if (text === undefined) return usualPort;
  const port = Number(text);
  if (/^\d{1,5}$/.test(text) && port <= 65_535) return port;
  throw new ArgumentError("option-value", `found --port ${text}, expected a port from 0 to 65535`, {
    hint: "0 takes any free one",
  });
}

/** Says when an evaluation is done or has failed, and on a terminal how far it is. */
function tellProgress(service: Service, terminal: Terminal): void {
  const line = progressLine(terminal, { quiet: false });
  let before: ServiceState = service.state();
  const state = (now: ServiceState): void => {
    if (now.status === "evaluating" && now.progress !== null) {
      const { done, total, run, stage } = now.progress;
      line.show(`${done} of ${total} runs: ${run === "" ? "" : `${run}, `}${stage}`);
    } else line.clear();
    if (now.version > before.version) {
      const { runs } = service.shown();
      terminal.out(
        `${service.blind ? "Checked" : "Evaluated"}: ${runs.filter(({ used }) => used).length} of ${runs.length} runs used.\n`,
      );
    } else if (now.status === "failed" && before.status !== "failed" && now.error !== null) {
      void sayFailure(service, now.blind ? "check" : "evaluation", now.error, terminal);
    }
    before = now;
  };
  service.subscribe({ state, end: line.clear });
}

/** An unfinished draft is no fault: its questions are asked on the page, and need not be listed here as well. */
async function sayFailure(
  service: Service,
  what: string,
  { message, place, hint }: NonNullable<ServiceState["error"]>,
  terminal: Terminal,
): Promise<void> {
  const open = await service.questions().then(
    ({ questions }) => questions.length,
    () => 0,
  );
  if (open > 0) {
    const things = open === 1 ? "one thing" : `${open} things`;
    terminal.out(`The manifest still asks for ${things}: answer on the page Set-up, or in the file.\n`);
    return;
  }
  terminal.err(`counterpoise: the ${what} failed: ${plainText(message)}\n`);
  if (place !== undefined && !message.includes(place)) terminal.err(`  place: ${plainText(place)}\n`);
  if (hint !== undefined && !message.includes(hint)) terminal.err(`  hint: ${plainText(hint)}\n`);
}
