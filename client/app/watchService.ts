import { apiPaths } from "../../src/contract/api/paths.ts";
import type { ServiceState } from "../../src/contract/api/serviceState.ts";

/** a service that was started anew or a machine that woke is found again within this, milliseconds */
const again = 3000;

/**
 * Follows what the service is doing, for as long as the page lives. The browser reconnects by itself where a connection
 * breaks; where the service refuses, this does.
 */
export function watchService(told: {
  readonly state: (state: ServiceState) => void;
  readonly connected: (connected: boolean) => void;
}): void {
  const stream = new EventSource(apiPaths.progress);
  stream.addEventListener("state", (event) => {
    told.connected(true);
    told.state(JSON.parse((event as MessageEvent<string>).data) as ServiceState);
  });
  stream.addEventListener("error", () => {
    told.connected(false);
    if (stream.readyState !== EventSource.CLOSED) return;
    setTimeout(() => watchService(told), again);
  });
}
