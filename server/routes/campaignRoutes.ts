import { Router } from "express";
import { type CampaignView, campaignAnswerSchema } from "../../src/contract/api/campaignAnswer.ts";
import { campaignView } from "../answers/campaignView.ts";
import type { Reply } from "../reply.ts";
import type { Service } from "../Service.ts";

/** `GET /campaign` and `GET /evaluation`. */
export function campaignRoutes(service: Service, reply: Reply): Router {
  let view: { version: number; campaign: CampaignView } | null = null;
  const viewNow = (): CampaignView | null => {
    if (!service.hasJudged()) return null;
    const judged = service.judged();
    if (view?.version !== judged.version) {
      view = { version: judged.version, campaign: campaignView(judged, service.manifestName) };
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
