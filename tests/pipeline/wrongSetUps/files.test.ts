import { judgeGroup } from "./judgeGroup.ts";

judgeGroup("files");
