import type { Terminal } from "./Command.ts";
import { runCli } from "./runCli.ts";

const usualWidth = 80;
const widest = 100;

/** The terminal of this process. `NO_COLOR` and `TERM=dumb` turn colour off; `COUNTERPOISE_DEBUG=1` shows stacks. */
function processTerminal(): Terminal {
  const { stdout, stderr, env } = process;
  // a reader that has seen enough (`| head`) is no fault; what was to be written to disk has been written before
  for (const stream of [stdout, stderr]) {
    stream.on("error", (error: NodeJS.ErrnoException) => {
      if (error.code !== "EPIPE") throw error;
      process.exit();
    });
  }
  return {
    out: (text) => void stdout.write(text),
    err: (text) => void stderr.write(text),
    width: stdout.isTTY ? Math.min(widest, stdout.columns || usualWidth) : usualWidth,
    colour: stdout.isTTY === true && !env.NO_COLOR && env.TERM !== "dumb",
    progress: stderr.isTTY === true && env.TERM !== "dumb",
    debug: env.COUNTERPOISE_DEBUG === "1",
  };
}

// not process.exit: what was written to a pipe must still drain
process.exitCode = await runCli(process.argv.slice(2), processTerminal());
