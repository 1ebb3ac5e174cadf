import { startShell } from "./app/shell.ts";
import { applyTheme } from "./app/theme.ts";

applyTheme();
startShell(document.getElementById("app")!);
