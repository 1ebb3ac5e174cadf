import type { ServiceState } from "../../src/contract/api/messages.ts";
import { apiPaths } from "../../src/contract/api/paths.ts";

/** a service that was started again or a machine that woke is found again within this, milliseconds */
const again = 3000;
/** of the lock and of the channel; both are the origin's own, so each port has its own */
const name = "counterpoise-service";
const asks = "what is the state?";

interface Stated {
  readonly state: (state: ServiceState) => void;
  readonly connected: (connected: boolean) => void;
}

/** null: the service does not answer */
type News = ServiceState | null;

/**
 * Follows what the service is doing, for as long as the page is before a reader. A browser keeps six connections to a service, so
 * all its tabs share one stream of events: the tab that holds a lock listens, and tells the others. When it is left, the stream is
 * closed and the lock goes to the next.
 */
export function watchService(stated: Stated): void {
  let leave = follow(stated);
  window.addEventListener("pagehide", () => leave());
  // a page that comes back from the browser's cache was not loaded again
  window.addEventListener("pageshow", ({ persisted }) => {
    if (persisted) leave = follow(stated);
  });
}

function follow(stated: Stated): () => void {
  const left = new AbortController();
  const hear = (news: News): void => {
    stated.connected(news !== null);
    if (news !== null) stated.state(news);
  };
  if (!("locks" in navigator)) {
    listen(hear, left.signal);
    return () => left.abort();
  }
  const others = new BroadcastChannel(name);
  let last: News | undefined;
  others.addEventListener("message", ({ data }: MessageEvent<News | typeof asks>) => {
    if (data !== asks) hear(data);
    else if (last !== undefined) others.postMessage(last);
  });
  others.postMessage(asks);
  const lead = (): Promise<void> =>
    new Promise((done) => {
      const tell = (news: News): void => {
        last = news;
        others.postMessage(news);
        hear(news);
      };
      listen(tell, left.signal);
      left.signal.addEventListener("abort", () => done());
    });
  // refused only where the page is left before its turn came
  navigator.locks.request(name, { signal: left.signal }, lead).catch(() => undefined);
  return () => {
    left.abort();
    others.close();
  };
}

/** Opens the stream. The browser connects again by itself where a connection breaks; where the service refuses, this does. */
function listen(tell: (news: News) => void, left: AbortSignal): void {
  if (left.aborted) return;
  const stream = new EventSource(apiPaths.progress);
  left.addEventListener("abort", () => stream.close());
  stream.addEventListener("state", (event) => {
    tell(JSON.parse((event as MessageEvent<string>).data) as ServiceState);
  });
  stream.addEventListener("error", () => {
    if (left.aborted) return;
    tell(null);
    if (stream.readyState === EventSource.CLOSED) setTimeout(() => listen(tell, left), again);
  });
}
