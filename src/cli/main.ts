import { processTerminal } from "./processTerminal.ts";
import { runCli } from "./runCli.ts";

// not process.exit: what was written to a pipe must still drain
process.exitCode = await runCli(process.argv.slice(2), processTerminal());
