import { judgeGroup } from "./judgeGroup.ts";

judgeGroup("clocks");
