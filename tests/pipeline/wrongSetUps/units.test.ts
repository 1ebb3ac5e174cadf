import { judgeGroup } from "./judgeGroup.ts";

judgeGroup("units");
