"""Made-up messages of every type the readers know, each serialised three times from the same numbers: as ROS 1 does it,
and as CDR, little- and big-endian. Written after wiki.ros.org/msg and the OMG's CDR rules (numbers aligned to their own
width from the end of the encapsulation), with the standard library alone. Reads {seed, rows}, prints JSON."""

import base64
import json
import random
import struct
import sys


class Ros1:
    def __init__(self):
        self.bytes = bytearray()

    def put(self, code, *values):
        for value in values:
            self.bytes += struct.pack("<" + code, value)

    def text(self, value):
        data = value.encode()
        self.put("I", len(data))
        self.bytes += data

    def header(self, seq, sec, nsec, frame):
        self.put("I", seq, sec, nsec)
        self.text(frame)


class Cdr:
    def __init__(self, order):
        self.order = order
        self.bytes = bytearray([0, 1 if order == "<" else 0, 0, 0])

    def put(self, code, *values):
        for value in values:
            width = struct.calcsize("=" + code)
            while (len(self.bytes) - 4) % width:
                self.bytes.append(0xEE)  # padding may hold anything
            self.bytes += struct.pack(self.order + code, value)

    def text(self, value):
        data = value.encode() + b"\0"
        self.put("I", len(data))
        self.bytes += data

    def header(self, seq, sec, nsec, frame):
        self.put("I", sec, nsec)
        self.text(frame)


def main():
    given = json.load(sys.stdin)
    dice = random.Random(given["seed"])
    doubles = lambda count: [dice.uniform(-3, 3) for _ in range(count)]

    def word(least=0, most=9):
        return "".join(dice.choice("abcdefgß_/") for _ in range(dice.randint(least, most)))

    def header():
        stamp = (0, 0) if dice.random() < 0.1 else (1_700_000_000 + dice.randint(0, 99), dice.randint(0, 999_999_999))
        head = (dice.randint(0, 9), *stamp, word())
        return lambda out: out.header(*head)

    def fixed(strings, count):
        def make():
            head, names, values = header(), [word() for _ in range(strings)], doubles(count)

            def write(out):
                head(out)
                for name in names:
                    out.text(name)
                out.put("d", *values)

            return write

        return make

    def bare(count):
        def make():
            values = doubles(count)
            return lambda out: out.put("d", *values)

        return make

    def transform(children):
        head, child, values = header_in("world"), dice.choice(children), doubles(7)

        def write(out):
            head(out)
            out.text(child)
            out.put("d", *values)

        return write

    def header_in(frame):
        head = (dice.randint(0, 9), 1_700_000_000 + dice.randint(0, 99), dice.randint(0, 999_999_999), frame)
        return lambda out: out.header(*head)

    def tree():
        parts = [transform(["tool", "airframe", "a"]) for _ in range(dice.randint(0, 4))]

        def write(out):
            out.put("I", len(parts))
            for part in parts:
                part(out)

        return write

    def battery():
        head, values, states = header(), doubles(7), [dice.randint(0, 3) for _ in range(4)]
        cells, warmth, place = doubles(dice.randint(0, 6)), doubles(dice.randint(0, 2)), word()

        def write(out):
            head(out)
            out.put("f", *values)
            out.put("B", *states)
            out.put("I", len(cells))
            out.put("f", *cells)
            out.put("I", len(warmth))
            out.put("f", *warmth)
            out.text(place)
            out.text("serial")

        return write

    def joints():
        head, names = header(), ["elbow", "wrist", word()]
        dice.shuffle(names)
        sizes = [dice.choice([0, 3]), dice.choice([0, 3])]
        values = [doubles(3), doubles(sizes[0]), doubles(sizes[1])]

        def write(out):
            head(out)
            out.put("I", len(names))
            for name in names:
                out.text(name)
            for each in values:
                out.put("I", len(each))
                out.put("d", *each)

        return write

    def target():
        head, frame, mask = header(), dice.choice([1, 1, 1, 8]), dice.choice([0, 1, 2, 4, 1024, 2552])
        values, yaw = doubles(9), doubles(2)

        def write(out):
            head(out)
            out.put("B", frame)
            out.put("H", mask)
            out.put("d", *values)
            out.put("f", *yaw)

        return write

    def trajectory():
        head, names = header(), [word() for _ in range(dice.randint(0, 3))]
        points = [[doubles(7 * dice.randint(1, 2)), doubles(6), [], (dice.randint(0, 9), 5)] for _ in range(dice.randint(1, 3))]

        def write(out):
            head(out)
            out.put("I", len(names))
            for name in names:
                out.text(name)
            out.put("I", len(points))
            for transforms, velocities, accelerations, (sec, nsec) in points:
                for values, width in ((transforms, 7), (velocities, 6), (accelerations, 6)):
                    out.put("I", len(values) // width)
                    out.put("d", *values)
                out.put("i", sec, nsec)

        return write

    def motors():
        head, channels = header(), [dice.randint(900, 2100) for _ in range(dice.randint(0, 8))]

        def write(out):
            head(out)
            out.put("I", len(channels))
            out.put("H", *channels)

        return write

    kinds = {
        "/pose": ("geometry_msgs/PoseStamped", fixed(0, 7)),
        "/pose_cov": ("geometry_msgs/PoseWithCovarianceStamped", fixed(0, 43)),
        "/transform": ("geometry_msgs/TransformStamped", lambda: transform(["tool"])),
        "/point": ("geometry_msgs/PointStamped", fixed(0, 3)),
        "/vector": ("geometry_msgs/Vector3Stamped", fixed(0, 3)),
        "/odometry": ("nav_msgs/Odometry", fixed(1, 85)),
        "/tf": ("tf2_msgs/TFMessage", tree),
        "/imu": ("sensor_msgs/Imu", fixed(0, 37)),
        "/battery": ("sensor_msgs/BatteryState", battery),
        "/target": ("mavros_msgs/PositionTarget", target),
        "/trajectory": ("trajectory_msgs/MultiDOFJointTrajectory", trajectory),
        "/joints": ("sensor_msgs/JointState", joints),
        "/rc": ("mavros_msgs/RCOut", motors),
        "/bare/pose": ("geometry_msgs/Pose", bare(7)),
        "/bare/point": ("geometry_msgs/Point", bare(3)),
    }
    messages = []
    for row in range(given["rows"]):
        for offset, (topic, (kind, make)) in enumerate(kinds.items()):
            write = make()
            forms = {}
            for name, out in (("ros1", Ros1()), ("little", Cdr("<")), ("big", Cdr(">"))):
                write(out)
                forms[name] = base64.b64encode(bytes(out.bytes)).decode()
            nanoseconds = 10_000_000 * row + 1000 * offset + dice.randint(0, 999)
            received = [1_700_000_000 + nanoseconds // 1_000_000_000, nanoseconds % 1_000_000_000]
            messages.append({"topic": topic, "type": kind, "received": received, **forms})
    json.dump(messages, sys.stdout)


main()
