import { judgeGroup } from "./judgeGroup.ts";

judgeGroup("frames");
