import { Router } from "express";
import { type CampaignView, campaignAnswerSchema } from "../../src/contract/api/campaignAnswer.ts";
import type { ServiceState } from "../../src/contract/api/messages.ts";
import { CounterpoiseError } from "../../src/foundation/errors.ts";
import { subjects } from "../../src/foundation/tracks.ts";
import { checkSentences } from "../../src/report/doubtSentences.ts";
import { campaignView, viewOfSettings } from "../answers/campaignView.ts";
import type { Reply } from "../requests.ts";
import type { Checked, Service } from "../Service.ts";
import type { Every } from "../ServiceEffects.ts";

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
    costs: null,
  };
}

/** a browser opens one per window */
const mostStreams = 64;
/** proxies and sleeping machines drop what is silent */
const beatEvery = 15_000;

/** `GET /progress`: server-sent events `state`, the first at once. */
export function progressRoute(service: Service, every: Every): Router {
  let open = 0;
  return Router().get("/progress", (request, response) => {
    if (open >= mostStreams) {
      throw new CounterpoiseError(
        "too-many-streams",
        `found ${open} open streams, expected fewer than ${mostStreams}`,
        {
          hint: "close other windows of the dashboard",
        },
      );
    }
    response.writeHead(200, {
      "Content-Type": "text/event-stream; charset=utf-8",
      "Cache-Control": "no-store",
      Connection: "keep-alive",
    });
    if (request.method === "HEAD") {
      response.end();
      return;
    }
    open++;
    const send = (state: ServiceState): void => {
      response.write(`event: state\ndata: ${JSON.stringify(state)}\n\n`);
    };
    response.write("retry: 1000\n\n");
    send(service.state());
    const leave = service.subscribe({ state: send, end: () => response.end() });
    const stopBeat = every(beatEvery, () => response.write(": still here\n\n"));
    response.on("close", () => {
      open--;
      leave();
      stopBeat();
    });
  });
}
