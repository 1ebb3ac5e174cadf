import { type Response, Router } from "express";
import { cellsTable, runsTable } from "../answers/tables.ts";
import type { Service } from "../Service.ts";

/** `GET /export/evaluation.json`, `/export/cells.csv` and `/export/runs.csv`, as files. */
export function exportRoutes(service: Service): Router {
  const send = (response: Response, name: string, type: string, text: string): void => {
    response.attachment(name).type(type).send(text);
  };
  return Router()
    .get("/export/evaluation.json", (_request, response) => {
      send(response, "evaluation.json", "application/json; charset=utf-8", service.judged().json);
    })
    .get("/export/cells.csv", (_request, response) => {
      send(response, "cells.csv", "text/csv; charset=utf-8", cellsTable(service.judged().evaluation));
    })
    .get("/export/runs.csv", (_request, response) => {
      send(response, "runs.csv", "text/csv; charset=utf-8", runsTable(service.judged().evaluation));
    });
}
