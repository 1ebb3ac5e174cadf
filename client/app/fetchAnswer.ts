import type { Fault, FaultAnswer } from "../../src/contract/api/bricks.ts";

/** What the service said instead of an answer, or why it said nothing. */
export class AnswerError extends Error {
  readonly code: string;
  readonly place: string | undefined;
  readonly hint: string | undefined;

  constructor({ code, message, place, hint }: Fault) {
    super(message);
    this.name = "AnswerError";
    this.code = code;
    this.place = place;
    this.hint = hint;
  }
}

interface AskOptions {
  readonly signal?: AbortSignal;
  /** null and undefined are left out */
  readonly query?: Readonly<Record<string, string | number | null | undefined>>;
}

/**
 * Asks the service and hands back its answer, whose shape the service has checked (src/contract/api).
 *
 * @param path  one of `apiPaths`
 * @throws AnswerError   the service said no, or nothing: code `no-connection`; code `unreadable-answer`
 * @throws DOMException  `AbortError`: the signal was aborted
 */
export async function fetchAnswer<T>(path: string, { signal, query = {} }: AskOptions = {}): Promise<T> {
  return ask<T>(withQuery(path, query), { signal: signal ?? null });
}

/**
 * Asks the service to change something.
 *
 * @throws as `fetchAnswer`
 */
export async function sendChange<T>(method: "POST" | "DELETE", path: string, body: unknown): Promise<T> {
  return ask<T>(path, { method, headers: { "Content-Type": "application/json" }, body: JSON.stringify(body) });
}

/** @example withQuery("/api/cells", { metric: "sd", axis: null }) // => "/api/cells?metric=sd" */
export function withQuery(path: string, query: NonNullable<AskOptions["query"]>): string {
  const asked = new URLSearchParams();
  for (const [key, value] of Object.entries(query)) {
    if (value !== null && value !== undefined) asked.set(key, String(value));
  }
  return asked.size === 0 ? path : `${path}?${asked}`;
}

async function ask<T>(address: string, request: RequestInit): Promise<T> {
  let response: Response;
  try {
    response = await fetch(address, { ...request, cache: "no-store" });
  } catch (error) {
    if (request.signal?.aborted) throw error;
    throw new AnswerError({
      code: "no-connection",
      message: "the service does not answer",
      hint: "is `counterpoise serve` still running in its terminal?",
    });
  }
  const body = await readBody(response, request.signal ?? null);
  if (!response.ok) throw new AnswerError(faultIn(body) ?? strangeFault(response.status));
  return body as T;
}

async function readBody(response: Response, signal: AbortSignal | null): Promise<unknown> {
  try {
    return (await response.json()) as unknown;
  } catch (error) {
    if (signal?.aborted) throw error;
    throw new AnswerError(strangeFault(response.status));
  }
}

function faultIn(body: unknown): Fault | null {
  const error = (body as Partial<FaultAnswer> | null)?.error;
  return typeof error?.code === "string" && typeof error.message === "string" ? error : null;
}

function strangeFault(status: number): Fault {
  return {
    code: "unreadable-answer",
    message: `the service answered in a way this page does not know (status ${status})`,
    hint: "load the page again; it may be older than the service",
  };
}
