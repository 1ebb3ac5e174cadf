import { createHash } from "node:crypto";
import { mkdir, readdir, readFile, rm, stat, unlink, utimes, writeFile } from "node:fs/promises";
import { join } from "node:path";
import { promisify } from "node:util";
import { deserialize, serialize } from "node:v8";
import { deflateRaw, inflateRaw } from "node:zlib";
import { writeThroughPart } from "../effects.ts";

/**
 * Values kept on disk under names, each in a file of its own: written whole or not at all, and believed only where the checksum
 * over name and content holds. Nothing here ever fails a journey: what cannot be read is not there, what cannot be written is
 * not kept.
 */
export interface Records {
  readonly folder: string;
  readonly names: () => Promise<ReadonlySet<string>>;
  /** null where there is none, or one that is damaged or another's */
  readonly read: (name: string) => Promise<unknown>;
  /** @returns whether the disk has it */
  readonly write: (name: string, value: unknown) => Promise<boolean>;
  /** Lets go of what was not used for longest, down to `largest` bytes. */
  readonly trim: (largest: number) => Promise<void>;
}

const ending = ".kept";
const magic = Buffer.from("counterpoise\0kept");
const sumBytes = 32;
const [pack, unpack] = [promisify(deflateRaw), promisify(inflateRaw)];
/** a record unpacks to no more than this, bytes: what claims more is no record of a run */
const largestValue = 1 << 29;

/** The records of a folder, which is made when the first of them is written. */
export function recordsIn(folder: string): Records {
  const placeOf = (name: string): string => join(folder, `${name}${ending}`);
  return {
    folder,
    names: async () =>
      new Set(
        (await filesIn(folder)).flatMap(({ name }) => (name.endsWith(ending) ? [name.slice(0, -ending.length)] : [])),
      ),
    read: async (name) => {
      try {
        const place = placeOf(name);
        const bytes = await readFile(place);
        const body = bytes.subarray(magic.length + sumBytes);
        const sum = bytes.subarray(magic.length, magic.length + sumBytes);
        if (!bytes.subarray(0, magic.length).equals(magic) || !sum.equals(sumOver(name, body))) return null;
        const value: unknown = deserialize(await unpack(body, { maxOutputLength: largestValue }));
        const now = new Date();
        await utimes(place, now, now).catch(() => undefined);
        return value;
      } catch {
        return null;
      }
    },
    write: async (name, value) => {
      try {
        const body = await pack(serialize(value), { level: 1 });
        await mkdir(folder, { recursive: true });
        // nothing of it belongs in anybody's repository
        await writeFile(join(folder, ".gitignore"), "*\n", { flag: "wx" }).catch(() => undefined);
        await writeThroughPart(placeOf(name), Buffer.concat([magic, sumOver(name, body), body]));
        return true;
      } catch {
        return false;
      }
    },
    trim: async (largest) => {
      const files = (await filesIn(folder)).sort((a, b) => b.used - a.used);
      let bytes = 0;
      for (const file of files) {
        bytes += file.bytes;
        if (bytes > largest) await unlink(join(folder, file.name)).catch(() => undefined);
      }
    },
  };
}

/** What a folder of records holds. */
export async function sizeOf(folder: string): Promise<{ readonly runs: number; readonly bytes: number }> {
  const files = await filesIn(folder);
  return {
    runs: files.filter(({ name }) => name.startsWith("run-") && name.endsWith(ending)).length,
    bytes: files.reduce((sum, { bytes }) => sum + bytes, 0),
  };
}

/** Takes the records of a folder away, with parts that a killed process left; whatever else lies there stays. */
export async function clear(folder: string): Promise<void> {
  for (const { name } of await filesIn(folder)) await rm(join(folder, name), { force: true });
}

async function filesIn(folder: string): Promise<{ name: string; bytes: number; used: number }[]> {
  const names = await readdir(folder).catch((): string[] => []);
  const own = names.filter((name) => name.endsWith(ending) || new RegExp(`\\${ending}\\.\\d+\\.part$`).test(name));
  const found = await Promise.all(
    own.map(async (name) => {
      const file = await stat(join(folder, name)).catch(() => null);
      return file?.isFile() ? [{ name, bytes: file.size, used: file.mtimeMs }] : [];
    }),
  );
  return found.flat();
}

function sumOver(name: string, body: Uint8Array): Buffer {
  return createHash("sha256").update(name).update("\0").update(body).digest();
}
