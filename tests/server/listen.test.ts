import { createServer, type Server } from "node:http";
import { connect } from "node:net";
import { networkInterfaces } from "node:os";
import { afterEach, describe, expect, test } from "vitest";
import { type Listening, listen } from "../../server/listen.ts";
import { ArgumentError } from "../../src/foundation/errors.ts";

const open: Listening[] = [];
const blockers: Server[] = [];
afterEach(async () => {
  await Promise.all(open.splice(0).map(({ close }) => close(10)));
  await Promise.all(blockers.splice(0).map((server) => new Promise((resolve) => server.close(resolve))));
});

const hello = (_request: unknown, response: { end: (text: string) => void }): void => response.end("hello");

async function take(port: number): Promise<number> {
  const server = createServer();
  await new Promise<void>((resolve) => server.listen(port, "127.0.0.1", () => resolve()));
  blockers.push(server);
  return (server.address() as { port: number }).port;
}

describe("listening", () => {
  test("a port that is taken gives the next free one", async () => {
    const first = await take(0);
    const listening = await listen(hello, first);
    open.push(listening);
    expect(listening.port).toBeGreaterThan(first);
    expect(listening.port).toBeLessThanOrEqual(first + 20);
    expect(listening.address).toBe(`http://127.0.0.1:${listening.port}`);
    expect(await (await fetch(listening.address)).text()).toBe("hello");
  });

  test("no free port to the end of all ports is the arguments' fault", async () => {
    await take(65_535);
    const refused = listen(hello, 65_535);
    await expect(refused).rejects.toThrow(ArgumentError);
    await expect(refused).rejects.toThrow(expect.objectContaining({ code: "no-free-port" }));
  });

  test("only loopback is bound: other addresses of this machine refuse", async () => {
    const listening = await listen(hello, 0);
    open.push(listening);
    expect(listening.server.address()).toMatchObject({ address: "127.0.0.1" });
    const others = Object.values(networkInterfaces())
      .flatMap((list) => list ?? [])
      .filter(({ internal, family }) => !internal && family === "IPv4")
      .map(({ address }) => address);
    for (const host of [...others, "::1"]) {
      const outcome = await new Promise((resolve) => {
        const socket = connect({ host, port: listening.port });
        socket.on("connect", () => resolve("connected")).on("error", () => resolve("refused"));
      });
      expect([host, outcome]).toEqual([host, "refused"]);
    }
  });

  test("closing waits for the answer under way, and cuts off what does not end", async () => {
    let answer: (() => void) | null = null;
    const listening = await listen((request, response) => {
      if (request.url === "/never") response.write("begun");
      else answer = () => response.end("done");
    }, 0);
    const slow = fetch(`${listening.address}/slow`).then((response) => response.text());
    const never = fetch(`${listening.address}/never`).then((response) => response.text());
    const cut = expect(never).rejects.toThrow();
    while (answer === null) await new Promise((resolve) => setTimeout(resolve, 5));
    const closed = listening.close(150);
    (answer as () => void)();
    expect(await slow).toBe("done");
    await cut;
    await closed;
    await expect(fetch(listening.address)).rejects.toThrow();
  });
});
