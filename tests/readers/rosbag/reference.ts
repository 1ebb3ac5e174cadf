import { runPython } from "../../support/run.ts";

/** One topic as the reference implementation (Debian's python3-rosbag) reads it. Doubles are base64 of little-endian float64. */
export interface ReferenceTopic {
  readonly type: string;
  readonly count: number;
  /** seconds after the log's first receipt time */
  readonly received: string;
  /** nanoseconds of the header stamps, as decimal text; null where the type has no header */
  readonly stamps: readonly string[] | null;
  readonly columns: Readonly<Record<string, string>>;
}

export interface Reference {
  readonly start: string | null;
  readonly end: string | null;
  readonly topics: Readonly<Record<string, ReferenceTopic>>;
}

/** Columns of the messages as a person would take them out in Python, one rule per type. */
const columnsOf = `
import base64, json, struct, sys, rosbag, genpy

def v3(p): return dict(x=p.x, y=p.y, z=p.z)
def quat(q): return dict(qx=q.x, qy=q.y, qz=q.z, qw=q.w)
def pose(p): return dict(v3(p.position), **quat(p.orientation))
def transform(t): return dict(v3(t.translation), **quat(t.rotation))
nan = float('nan')
def target(m):
    good = m.coordinate_frame == 1
    pick = lambda bit, value: value if good and not (m.type_mask & bit) else nan
    return dict(x=pick(1, m.position.x), y=pick(2, m.position.y), z=pick(4, m.position.z), yaw=pick(1024, m.yaw),
                coordinate_frame=m.coordinate_frame)
RULES = {
    'geometry_msgs/PoseStamped': lambda m: pose(m.pose),
    'geometry_msgs/PoseWithCovarianceStamped': lambda m: pose(m.pose.pose),
    'geometry_msgs/TransformStamped': lambda m: transform(m.transform),
    'geometry_msgs/PointStamped': lambda m: v3(m.point),
    'geometry_msgs/Vector3Stamped': lambda m: v3(m.vector),
    'nav_msgs/Odometry': lambda m: pose(m.pose.pose),
    'geometry_msgs/Pose': pose, 'geometry_msgs/Transform': transform, 'geometry_msgs/Point': v3, 'geometry_msgs/Vector3': v3,
    'sensor_msgs/Imu': lambda m: dict(wx=m.angular_velocity.x, wy=m.angular_velocity.y, wz=m.angular_velocity.z),
    'sensor_msgs/BatteryState': lambda m: dict(voltage=m.voltage, current=m.current, percentage=m.percentage, cells=len(m.cell_voltage)),
    'mavros_msgs/PositionTarget': target,
    'trajectory_msgs/MultiDOFJointTrajectory': lambda m: transform(m.points[0].transforms[0]),
    'mavros_msgs/RCOut': lambda m: {'m%d' % i: c for i, c in enumerate(m.channels)},
}
def doubles(values): return base64.b64encode(struct.pack('<%dd' % len(values), *values)).decode()

def dump(paths, child=None, joint=None):
    topics, start, end = {}, None, None
    messages = []
    for path in paths:
        with rosbag.Bag(path, allow_unindexed=True) as bag:
            # Point and Vector3 have the same sum, by which rosbag finds a class: only the connection knows the type.
            kinds = {topic: info.msg_type for topic, info in bag.get_type_and_topic_info().topics.items()}
            for topic, message, t in bag.read_messages():
                messages.append((t.to_nsec(), topic, kinds[topic], message))
    messages.sort(key=lambda entry: entry[0])
    for t, topic, kind, message in messages:
        start = t if start is None else min(start, t)
        end = t if end is None else max(end, t)
        entry = topics.setdefault(topic, dict(type=kind, count=0, rows=[], stamps=[], times=[]))
        entry['count'] += 1
        if kind in ('tf2_msgs/TFMessage', 'tf/tfMessage'):
            wanted = (child or {}).get(topic)
            found = [s for s in message.transforms if s.child_frame_id.lstrip('/') == wanted]
            rows = [(transform(s.transform), s.header.stamp.to_nsec()) for s in found]
        elif kind == 'sensor_msgs/JointState':
            rows = [(dict(value=message.position[message.name.index(joint)]), message.header.stamp.to_nsec())] if joint in message.name else []
        elif kind in RULES:
            rows = [(RULES[kind](message), message.header.stamp.to_nsec() if message._has_header else None)]
        else:
            rows = []
        for row, stamp in rows:
            entry['rows'].append(row); entry['stamps'].append(stamp); entry['times'].append(t)
    out = {}
    for topic, entry in topics.items():
        rows = entry['rows']
        names = list(dict.fromkeys(n for row in rows for n in row))
        stamps = entry['stamps']
        out[topic] = dict(type=entry['type'], count=entry['count'],
            received=doubles([(t - start) / 1e9 for t in entry['times']]),
            stamps=None if any(s is None for s in stamps) else [str(s) for s in stamps],
            columns={n: doubles([float(row.get(n, nan)) for row in rows]) for n in names})
    return dict(start=None if start is None else str(start), end=None if end is None else str(end), topics=out)
`;

/** Reads bags with the reference implementation. */
export function readWithReference(
  paths: readonly string[],
  options: { child?: Readonly<Record<string, string>>; joint?: string } = {},
): Reference {
  return runPython<Reference>(
    `${columnsOf}
request = json.load(sys.stdin)
print(json.dumps(dump(request['paths'], request.get('child'), request.get('joint'))))`,
    { paths, ...options },
  );
}

/**
 * Has the reference implementation write a bag with seeded random messages of every type that is known by heart,
 * and say what it reads in it. mavros_msgs is no Debian package: its two definitions are given as text.
 */
export function writeWithReference(options: {
  path: string;
  compression: "none" | "lz4" | "bz2";
  seed: number;
  count: number;
  /** chunks in falling order of time */
  backwards?: boolean;
}): Reference {
  return runPython<Reference>(
    `${columnsOf}${writer}
request = json.load(sys.stdin)
write(**request)
print(json.dumps(dump([request['path']], {'/tf': 'tool', '/tf_static': 'base'}, 'elbow')))`,
    { backwards: false, ...options },
  );
}

const writer = `
import random, genpy.dynamic
from geometry_msgs.msg import *
from nav_msgs.msg import Odometry
from tf2_msgs.msg import TFMessage
from sensor_msgs.msg import Imu, BatteryState, JointState
from std_msgs.msg import Header, String
from trajectory_msgs.msg import MultiDOFJointTrajectory, MultiDOFJointTrajectoryPoint
SEP = '=' * 80
HEADER = SEP + '\\nMSG: std_msgs/Header\\nuint32 seq\\ntime stamp\\nstring frame_id\\n'
XYZ = 'float64 x\\nfloat64 y\\nfloat64 z\\n'
TARGET = '''std_msgs/Header header
uint8 coordinate_frame
uint8 FRAME_LOCAL_NED = 1
uint8 FRAME_LOCAL_OFFSET_NED = 7
uint8 FRAME_BODY_NED = 8
uint8 FRAME_BODY_OFFSET_NED = 9
uint16 type_mask
uint16 IGNORE_PX = 1
uint16 IGNORE_PY = 2
uint16 IGNORE_PZ = 4
uint16 IGNORE_VX = 8
uint16 IGNORE_VY = 16
uint16 IGNORE_VZ = 32
uint16 IGNORE_AFX = 64
uint16 IGNORE_AFY = 128
uint16 IGNORE_AFZ = 256
uint16 FORCE = 512
uint16 IGNORE_YAW = 1024
uint16 IGNORE_YAW_RATE = 2048
geometry_msgs/Point position
geometry_msgs/Vector3 velocity
geometry_msgs/Vector3 acceleration_or_force
float32 yaw
float32 yaw_rate
''' + HEADER + SEP + '\\nMSG: geometry_msgs/Point\\n' + XYZ + SEP + '\\nMSG: geometry_msgs/Vector3\\n' + XYZ
CHANNELS = 'std_msgs/Header header\\nuint16[] channels\\n' + HEADER
PositionTarget = genpy.dynamic.generate_dynamic('mavros_msgs/PositionTarget', TARGET)['mavros_msgs/PositionTarget']
RCOut = genpy.dynamic.generate_dynamic('mavros_msgs/RCOut', CHANNELS)['mavros_msgs/RCOut']

def write(path, compression, seed, count, backwards):
    r = random.Random(seed)
    odd = [0.0, -0.0, float('inf'), float('-inf'), nan, 5e-324, 1.7976931348623157e308]
    d = lambda: r.choice(odd) if r.random() < 0.05 else r.uniform(-10, 10) * 10 ** r.randint(-12, 6)
    f = lambda: struct.unpack('<f', struct.pack('<f', r.uniform(-100, 100)))[0]
    frames = ['', 'map', '/map', 'w' * 300, 'Prüfstand 塔', 'a' * 7]
    def head(zero=0.1):
        stamp = genpy.Time(0, 0) if r.random() < zero else genpy.Time(1700000000 + r.randrange(-50, 5000), r.randrange(10 ** 9))
        return Header(seq=r.randrange(2 ** 32), stamp=stamp, frame_id=r.choice(frames))
    pt = lambda c=Point: c(d(), d(), d())
    q = lambda: Quaternion(d(), d(), d(), d())
    p = lambda: Pose(pt(), q())
    tr = lambda: Transform(pt(Vector3), q())
    cov = lambda n: [d() for _ in range(n)]
    def ts(child, parent=None):
        h = head(0)
        h.frame_id = parent or h.frame_id
        return TransformStamped(h, child, tr())
    tw = lambda: Twist(pt(Vector3), pt(Vector3))
    def target():
        m = PositionTarget()
        m.header = head(); m.coordinate_frame = r.choice([1, 1, 1, 7, 8, 9]); m.type_mask = r.randrange(4096)
        m.position = pt(m.position.__class__); m.velocity = pt(m.velocity.__class__); m.yaw = f(); m.yaw_rate = f()
        return m
    def battery():
        return BatteryState(header=head(), voltage=f(), temperature=f(), current=f(), charge=f(), capacity=f(), design_capacity=f(),
            percentage=f(), cell_voltage=[f() for _ in range(r.randrange(7))], cell_temperature=[f()], location='bay', serial_number='A1')
    def joints():
        names = r.sample(['shoulder', 'elbow', 'wrist'], r.randint(1, 3))
        return JointState(header=head(), name=names, position=[d() for _ in names], velocity=[d() for _ in names])
    def trajectory():
        point = lambda: MultiDOFJointTrajectoryPoint(transforms=[tr() for _ in range(r.randint(1, 2))], velocities=[tw() for _ in range(r.randrange(3))],
            accelerations=[], time_from_start=genpy.Duration(1, 5))
        return MultiDOFJointTrajectory(header=head(), joint_names=r.sample(['base', 'a', ''], r.randrange(3)), points=[point() for _ in range(r.randint(1, 3))])
    def rc():
        m = RCOut(); m.header = head(); m.channels = [r.randrange(65536) for _ in range(r.randint(1, 8))]
        return m
    makers = {
        '/pose': lambda: PoseStamped(head(), p()),
        '/pose_cov': lambda: PoseWithCovarianceStamped(head(), PoseWithCovariance(p(), cov(36))),
        '/transform': lambda: ts('tool', 'map'),
        '/point': lambda: PointStamped(head(), pt()),
        '/vector': lambda: Vector3Stamped(head(), pt(Vector3)),
        '/odometry': lambda: Odometry(head(), r.choice(frames), PoseWithCovariance(p(), cov(36)), TwistWithCovariance(tw(), cov(36))),
        '/tf': lambda: TFMessage([ts(r.choice(['tool', '/tool', 'base', 'elbow_ä']), r.choice(['map', '/map'])) for _ in range(r.randrange(5))]),
        '/tf_static': lambda: TFMessage([ts('base', 'map')]),
        '/imu': lambda: Imu(head(), q(), cov(9), pt(Vector3), cov(9), pt(Vector3), cov(9)),
        '/battery': battery, '/target': target, '/trajectory': trajectory, '/joints': joints, '/rc': rc,
        '/bare/pose': p, '/bare/point': pt, '/bare/vector': lambda: pt(Vector3), '/bare/transform': tr,
        '/text/Prüfung': lambda: String('x' * r.randrange(5000)),
    }
    events = [(i * 10 ** 7 + r.randrange(10 ** 6), topic) for i in range(count) for topic in makers]
    seen, unique = set(), []
    for t, topic in events:
        while t in seen: t += 1
        seen.add(t); unique.append((t, topic))
    unique.sort()
    if backwards:
        block = 200
        blocks = [unique[i:i + block] for i in range(0, len(unique), block)]
        unique = [event for part in reversed(blocks) for event in part]
    with rosbag.Bag(path, 'w', compression=compression, chunk_threshold=16384) as bag:
        for t, topic in unique:
            t += 1700000000 * 10 ** 9 + 999999999
            bag.write(topic, makers[topic](), genpy.Time(t // 10 ** 9, t % 10 ** 9))
`;
