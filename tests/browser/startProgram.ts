import { spawn } from "node:child_process";
import { once } from "node:events";
import { existsSync } from "node:fs";
import { join, resolve } from "node:path";

/** Where the build lies that is tested; it may be another than the repository's own. */
export const build = resolve(process.env.COUNTERPOISE_DIST ?? resolve(import.meta.dirname, "../../dist"));

export interface RunningProgram {
  /** as the program says it, without a slash at its end */
  readonly address: string;
  /** told to stop as from its terminal; resolves with the exit code once it has ended */
  readonly stop: () => Promise<number | null>;
  /** ended as by a power cut */
  readonly kill: () => void;
}

/** Starts the built `counterpoise serve` on a manifest. @throws Error where it ends before it says its address */
export async function startProgram(manifest: string, port = 0): Promise<RunningProgram> {
  const program = join(build, "counterpoise.mjs");
  if (!existsSync(join(build, "client/index.html")) || !existsSync(program)) {
    throw new Error(`found no build in ${build}: run npm run build first`);
  }
  const child = spawn(process.execPath, [program, "serve", manifest, "--port", String(port)], {
    stdio: ["ignore", "pipe", "pipe"],
  });
  const ended = once(child, "exit") as Promise<[number | null]>;
  let said = "";
  const address = await new Promise<string>((done, fail) => {
    const hear = (part: Buffer): void => {
      said += part.toString("utf8");
      const found = /^Dashboard: (http:\/\/127\.0\.0\.1:\d+)\/ /m.exec(said);
      if (found !== null) done(found[1]!);
    };
    child.stdout.on("data", hear);
    child.stderr.on("data", hear);
    child.once("exit", (code) => fail(new Error(`counterpoise serve ended with ${code}, having said:\n${said}`)));
  });
  return {
    address,
    kill: () => void child.kill("SIGKILL"),
    stop: async () => {
      child.kill("SIGINT");
      const [code] = await ended;
      return code;
    },
  };
}
