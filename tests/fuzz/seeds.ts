import { parquetWriteBuffer } from "hyparquet-writer";
import type { LogFormat } from "../../src/catalogue/logFormats.ts";
import type { SignalRequest } from "../../src/foundation/recording.ts";
import { buildC3d } from "../readers/c3d/buildC3d.ts";
import { capture, labels, markers } from "../readers/c3d/capture.ts";
import { buildMcap, type McapMessage } from "../readers/mcap/buildMcap.ts";
import { lz4Stored, poseStamped } from "../readers/rosbag/poses.ts";
import { fields, UlogBuilder } from "../readers/ulog/buildUlog.ts";
import { runPython } from "../support/run.ts";
import { type BagMessage, buildBag, f64s, header } from "../support/writeBag.ts";

/** A small sound log, and what a judge has to know of it. */
export interface Seed {
  readonly name: string;
  readonly format: LogFormat;
  readonly bytes: Buffer;
  readonly requests: readonly SignalRequest[];
  /** numbers that nothing in the file vouches for: where their bytes lie; empty where checksums cover them */
  readonly values: readonly Place[];
  /** instants: likewise */
  readonly stamps: readonly Place[];
  /** how many rows the bytes of one of these places can change; default 1 */
  readonly rowsAPlace?: number;
  /** whether the file itself says how many messages it holds, so that a whole one that is lost must be reported */
  readonly counted: boolean;
}

/** First byte, and how many. */
export type Place = readonly [at: number, length: number];

const second = 1_000_000_000n;
const start = 1_700_000_000n * second;

/** The hexacopter on its circle, and its gyro: no number of it comes twice. */
function rows(count: number) {
  return Array.from({ length: count }, (_, k) => {
    const half = 0.05 * Math.sin(1.3 + k / 9) + 1e-7 * k;
    const received = start + second + 10_000_000n * BigInt(k) + BigInt((k * 7919) % 1000) * 1000n;
    return {
      received,
      stamped: received - 4_000_000n - BigInt(k) * 1000n,
      pose: [
        0.06 * Math.cos(k / 7) + 1.5,
        0.06 * Math.sin(k / 7) - 2.25,
        1.2 + k / 977,
        0.001 + k / 1e5,
        0.002 - k / 1e5,
        Math.sin(half),
        Math.cos(half),
      ],
      rate: [0.1 * Math.sin(k + 0.5), 0.1 * Math.cos(k + 0.5), 0.02 + k / 1003],
    };
  });
}

const pose: SignalRequest = { signal: "vehicle_pose", topic: "/mocap/airframe" };
const rate: SignalRequest = { signal: "vehicle_rate", topic: "/gyro" };
const split = (time: bigint): [number, number] => [Number(time / second), Number(time % second)];

function bagMessages(count: number): BagMessage[] {
  return rows(count).flatMap(({ received, stamped, pose, rate }, k): BagMessage[] => [
    {
      topic: "/mocap/airframe",
      ...poseStamped,
      received: split(received),
      data: Buffer.concat([header(split(stamped), "arena", k), f64s(...pose)]),
    },
    {
      topic: "/gyro",
      type: "geometry_msgs/Vector3Stamped",
      received: split(received + 1000n),
      data: Buffer.concat([header(split(stamped + 500_000n), "imu", k), f64s(...rate)]),
    },
  ]);
}

/** In CDR: a header, then doubles. */
function cdr(stamp: bigint, values: readonly number[]): Buffer {
  const head = Buffer.alloc(24);
  head[1] = 1;
  for (const [k, word] of [...split(stamp), 6].entries()) head.writeUInt32LE(word, 4 + 4 * k);
  head.write("arena", 16);
  // the frame's name ends at byte 18 after the encapsulation; doubles lie on eighths of it
  return Buffer.concat([head, Buffer.alloc(4), f64s(...values)]);
}

function cdrMessages(count: number): McapMessage[] {
  return rows(count).flatMap(({ received, stamped, pose, rate }): McapMessage[] => [
    {
      topic: "/mocap/airframe",
      type: "geometry_msgs/msg/PoseStamped",
      logTime: received,
      data: cdr(stamped, pose),
    },
    {
      topic: "/gyro",
      type: "geometry_msgs/msg/Vector3Stamped",
      logTime: received + 1000n,
      data: cdr(stamped + 500_000n, rate),
    },
  ]);
}

function db3(count: number): Buffer {
  const messages = cdrMessages(count).map(({ topic, logTime, data }) => [
    topic === "/gyro" ? 2 : 1,
    String(logTime),
    Buffer.from(data).toString("base64"),
  ]);
  return Buffer.from(
    runPython<string>(
      `
import base64, json, os, sqlite3, sys, tempfile
path = os.path.join(tempfile.mkdtemp(), "seed.db3")
database = sqlite3.connect(path)
database.execute("pragma page_size = 1024")
database.execute("CREATE TABLE topics(id INTEGER PRIMARY KEY, name TEXT NOT NULL, type TEXT NOT NULL, serialization_format TEXT NOT NULL, offered_qos_profiles TEXT NOT NULL)")
database.execute("CREATE TABLE messages(id INTEGER PRIMARY KEY, topic_id INTEGER NOT NULL, timestamp INTEGER NOT NULL, data BLOB NOT NULL)")
database.execute("CREATE INDEX timestamp_idx ON messages (timestamp ASC)")
database.execute("insert into topics values (1, '/mocap/airframe', 'geometry_msgs/msg/PoseStamped', 'cdr', ''), (2, '/gyro', 'geometry_msgs/msg/Vector3Stamped', 'cdr', '')")
database.executemany("insert into messages(topic_id, timestamp, data) values (?, ?, ?)",
                     [(topic, int(time), base64.b64decode(data)) for topic, time, data in json.load(sys.stdin)])
database.commit()
database.close()
print(json.dumps(base64.b64encode(open(path, "rb").read()).decode()))
os.remove(path)
os.rmdir(os.path.dirname(path))
`,
      messages,
    ),
    "base64",
  );
}

function ulog(count: number): Buffer {
  const log = new UlogBuilder(1_000_000)
    .flags(0)
    .format("vehicle_mocap_odometry:uint64_t timestamp;float[3] position;float[4] q;")
    .format("vehicle_angular_velocity:uint64_t timestamp;float[3] xyz;")
    .parameter("float MC_ROLL_P", 6.5)
    .parameter("int32_t SYS_ID", 7);
  log.subscribe(1, "vehicle_mocap_odometry").subscribe(2, "vehicle_angular_velocity");
  for (const { received, pose, rate } of rows(count)) {
    const [x, y, z, a, b, c, w] = pose;
    const micros = (received - start) / 1000n;
    log.data(1, fields(micros, x!, y!, z!, w!, a!, b!, c!)).data(2, fields(micros + 1n, ...rate));
  }
  return log.finish();
}

const columns = { t: "t", x: "x", y: "y", z: "z", qx: "qx", qy: "qy", qz: "qz", qw: "qw" };
const columnPose: SignalRequest = { signal: "vehicle_pose", topic: "", columns, units: { t: "s", position: "m" } };

function parquet(count: number, codec: "UNCOMPRESSED" | "SNAPPY"): Buffer {
  const all = rows(count);
  const column = (name: string, data: number[]) => ({ name, data, type: "DOUBLE" as const });
  const columnData = [
    column(
      "t",
      all.map(({ received }) => Number(received - start) / 1e9),
    ),
    ...Object.keys(columns)
      .slice(1)
      .map((name, k) =>
        column(
          name,
          all.map(({ pose }) => pose[k]!),
        ),
      ),
  ];
  return Buffer.from(parquetWriteBuffer({ columnData, codec }));
}

function table(count: number): Buffer {
  const lines = rows(count).map(({ received, pose }) =>
    [(Number(received - start) / 1e9).toFixed(6), ...pose.map((value) => value.toFixed(9))].join(","),
  );
  return Buffer.from(`${Object.keys(columns).join(",")}\n${lines.join("\n")}\n`);
}

/** Where these bytes lie, each time they do. */
function placesOf(bytes: Buffer, wanted: readonly Buffer[]): Place[] {
  return wanted.flatMap((each) => {
    const found: Place[] = [];
    for (let at = bytes.indexOf(each); at >= 0; at = bytes.indexOf(each, at + 1)) found.push([at, each.length]);
    return found;
  });
}

const doubles = (count: number): Buffer[] =>
  rows(count).flatMap(({ pose, rate }) => [...pose, ...rate].map((value) => f64s(value)));
const rosTimes = (count: number): Buffer[] =>
  rows(count).flatMap(({ received, stamped }) =>
    [received, received + 1000n, stamped, stamped + 500_000n].map((time) => header(split(time)).subarray(4, 12)),
  );
const bigEndian = (value: bigint): Buffer => {
  const bytes = Buffer.alloc(8);
  bytes.writeBigUInt64BE(value);
  return bytes;
};

/** One or two small logs of each format; `size` messages of each topic. */
export async function seedLogs(size = 24): Promise<Seed[]> {
  const none = { values: [], stamps: [] };
  const topics = [pose, rate];
  const bag = (name: string, bytes: Buffer): Seed => ({
    ...{ name, format: "rosbag1", bytes, requests: topics, counted: true },
    values: placesOf(bytes, doubles(size)),
    stamps: placesOf(bytes, rosTimes(size)),
  });
  const database = db3(size);
  const log = ulog(size);
  const [plain, packed] = [parquet(size, "UNCOMPRESSED"), parquet(size, "SNAPPY")];
  const points = capture(size);
  const c3d = (order: "Intel" | "MIPS", integers: number): Buffer =>
    buildC3d({ order, integers, labels, rate: 100, unit: "mm", frames: points });
  const [floating, whole] = [c3d("Intel", 0), c3d("MIPS", 0.05)];
  // the data are all that follows header and parameters
  const dataOf = (bytes: Buffer, width: number): Place[] => {
    const from = bytes.length - size * labels.length * 4 * width;
    return Array.from({ length: size * labels.length * 4 }, (_, k): Place => [from + k * width, width]);
  };
  const body: SignalRequest = { signal: "vehicle_pose", topic: "", markers };
  const mcap = cdrMessages(size);
  return [
    bag("bag", buildBag(bagMessages(size)).bytes),
    bag("bag, lz4", buildBag(bagMessages(size), { compression: "lz4", pack: lz4Stored }).bytes),
    { name: "MCAP", format: "mcap", bytes: await buildMcap(mcap), requests: topics, counted: true, ...none },
    {
      ...{ name: "MCAP, zstd", format: "mcap", requests: topics, counted: true, ...none },
      bytes: await buildMcap(mcap, { compression: "zstd" }),
    },
    {
      ...{ name: "ROS 2 database", format: "ros2", bytes: database, requests: topics, counted: false },
      values: placesOf(database, doubles(size)),
      stamps: [
        ...placesOf(database, rosTimes(size)),
        ...placesOf(
          database,
          rows(size).flatMap(({ received }) => [bigEndian(received), bigEndian(received + 1000n)]),
        ),
      ],
    },
    {
      ...{ name: "ULog", format: "ulog", bytes: log, counted: false },
      requests: [
        { ...pose, topic: "vehicle_mocap_odometry" },
        { ...rate, topic: "vehicle_angular_velocity" },
      ],
      values: placesOf(
        log,
        rows(size).flatMap(({ pose, rate }) => [...pose, ...rate].map((value) => fields(value))),
      ),
      stamps: placesOf(
        log,
        rows(size).flatMap(({ received }) => [0n, 1n].map((more) => fields((received - start) / 1000n + more))),
      ),
    },
    {
      ...{ name: "Parquet", format: "parquet", bytes: plain, requests: [columnPose], counted: true },
      values: placesOf(plain, doubles(size)),
      stamps: placesOf(
        plain,
        rows(size).map(({ received }) => f64s(Number(received - start) / 1e9)),
      ),
    },
    // what is packed without a checksum may become anything of the same length: the index behind it is held to the promise
    {
      ...{ name: "Parquet, snappy", format: "parquet", bytes: packed, requests: [columnPose], counted: true },
      ...{ values: [[4, packed.length - 12 - packed.readUInt32LE(packed.length - 8)]], stamps: [], rowsAPlace: size },
    },
    {
      name: "C3D",
      format: "c3d",
      bytes: floating,
      requests: [body],
      counted: true,
      values: dataOf(floating, 4),
      stamps: [],
    },
    {
      ...{ name: "C3D, integers", format: "c3d", bytes: whole, requests: [body], counted: true, stamps: [] },
      values: dataOf(whole, 2),
    },
    // every byte of a text speaks for itself: what it says is held against another reading of it
    { name: "table", format: "table", bytes: table(size), requests: [columnPose], counted: false, ...none },
  ];
}
