import { createServer } from "node:http";
import type { AddressInfo } from "node:net";
import { join } from "node:path";
import type { TestProject } from "vitest/node";
import { campaignFolder } from "./campaignFolder.ts";
import { startProgram } from "./startProgram.ts";

declare module "vitest" {
  interface ProvidedContext {
    /** asked over HTTP, it answers with the address of a dashboard of the sample campaign, evaluated */
    sampleService: string;
  }
}

/**
 * One service of the sample campaign for all suites that only look at it: begun when the first of them asks, for every suite and
 * worker the same, stopped when all tests are done.
 */
export async function setup(project: TestProject): Promise<() => Promise<void>> {
  let begun: Promise<{ readonly address: string; readonly stop: () => Promise<void> }> | null = null;
  const begin = async () => {
    const { folder, remove } = campaignFolder({ bench: true });
    const { address, stop } = await startProgram(join(folder, "campaign.yaml"));
    return {
      address,
      stop: async () => {
        await stop();
        remove();
      },
    };
  };
  const desk = createServer((_, response) => {
    begun ??= begin();
    begun.then(
      ({ address }) => response.end(address),
      (fault: Error) => response.writeHead(500).end(fault.message),
    );
  });
  await new Promise<void>((done) => desk.listen(0, "127.0.0.1", done));
  project.provide("sampleService", `http://127.0.0.1:${(desk.address() as AddressInfo).port}/`);
  return async () => {
    desk.close();
    await begun?.then(
      ({ stop }) => stop(),
      () => undefined,
    );
  };
}
