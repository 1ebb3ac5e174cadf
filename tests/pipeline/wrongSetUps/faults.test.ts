import { judgeGroup } from "./judgeGroup.ts";

judgeGroup("faults");
