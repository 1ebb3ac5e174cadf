import { Router } from "express";
import { type CampaignView, campaignAnswerSchema } from "../../src/contract/api/campaignAnswer.ts";
import { subjects } from "../../src/foundation/signals.ts";
import { checkSentences } from "../../src/report/checkSentences.ts";
import { campaignView, viewOfSettings } from "../answers/campaignView.ts";
import type { Reply } from "../reply.ts";
import type { Checked, Service } from "../Service.ts";

/** `GET /campaign` and `GET /evaluation`. */
export function campaignRoutes(service: Service, reply: Reply): Router {
  let view: { version: number; campaign: CampaignView } | null = null;
  const viewNow = (): CampaignView | null => {
    if (!service.hasShown()) return null;
    const { version } = service.shown();
    if (view?.version !== version) {
      const name = service.manifestName;
      const campaign = service.blind ? blindView(service.checked(), name) : campaignView(service.judged(), name);
      view = { version, campaign };
    }
    return view.campaign;
  };
  return Router()
    .get("/campaign", (_request, response) => {
      reply(response, campaignAnswerSchema, { state: service.state(), campaign: viewNow() });
    })
    .get("/evaluation", (_request, response) => {
      // validated when it was made, and sent as it would be written
      response.type("application/json").send(service.judged().json);
    });
}

/** What every page shows of a campaign that is checked and not evaluated: letters for configurations, and no cells. */
function blindView({ campaign, check }: Checked, manifestName: string): CampaignView {
  const { audit, runs, settings } = check;
  return {
    ...viewOfSettings(check, campaign, manifestName),
    blind: true,
    answer: checkSentences(check),
    configurations: Object.entries(settings.configurations).map(([name, configuration]) => ({
      name,
      role: "other",
      ...configuration,
      runs: audit.configurations[name]?.runs.filed ?? 0,
      used: audit.configurations[name]?.runs.used ?? 0,
    })),
    subjects: subjects.filter((subject) => runs.some((run) => run.valid_fraction[subject] !== undefined)),
    metrics: [],
    family: 0,
    looks: { count: 0, first: check.opened, recorded: true },
  };
}
