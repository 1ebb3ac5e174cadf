import { Router } from "express";
import { type CampaignView, campaignAnswerSchema } from "../../src/contract/api/campaignAnswer.ts";
import { blindView } from "../answers/blindView.ts";
import { campaignView } from "../answers/campaignView.ts";
import type { Reply } from "../reply.ts";
import type { Service } from "../Service.ts";

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
