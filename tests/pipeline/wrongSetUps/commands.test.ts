import { judgeGroup } from "./judgeGroup.ts";

judgeGroup("commands");
