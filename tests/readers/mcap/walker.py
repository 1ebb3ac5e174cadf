"""Walks the records of MCAP files with struct alone, as the specification lays them out, and prints what it finds as JSON.

For each file: messages per topic and their first and last log time, from the messages themselves where the chunks can be
unpacked here, else from the index records behind the chunks; and the numbers of pose messages in CDR, read by hand.
Reads a list of paths."""

import base64
import json
import struct
import sys

try:
    import zstandard

    unzstd = lambda data, size: zstandard.ZstdDecompressor().decompress(data, max_output_size=size)
except ImportError:
    unzstd = None


def records(data, at, end):
    while at < end:
        op, length = data[at], struct.unpack_from("<Q", data, at + 1)[0]
        yield op, data[at + 9 : at + 9 + length]
        at += 9 + length


def text(data, at):
    length = struct.unpack_from("<I", data, at)[0]
    return data[at + 4 : at + 4 + length].decode(), at + 4 + length


# doubles behind the header (and child frame) of each type
poses = {
    "geometry_msgs/msg/PoseStamped": (True, False, 7),
    "geometry_msgs/msg/PoseWithCovarianceStamped": (True, False, 7),
    "geometry_msgs/msg/PointStamped": (True, False, 3),
    "geometry_msgs/msg/Vector3Stamped": (True, False, 3),
    "geometry_msgs/msg/TransformStamped": (True, True, 7),
    "nav_msgs/msg/Odometry": (True, True, 7),
    "geometry_msgs/msg/Pose": (False, False, 7),
    "geometry_msgs/msg/Transform": (False, False, 7),
    "geometry_msgs/msg/Point": (False, False, 3),
    "geometry_msgs/msg/Vector3": (False, False, 3),
}


def pose(kind, data):
    header, child, count = poses[kind]
    order = "<" if data[1] == 1 else ">"
    body, at, stamp, frame = data[4:], 0, None, ""
    if header:
        stamp = "%d" % (struct.unpack_from(order + "i", body, 0)[0] * 10**9 + struct.unpack_from(order + "I", body, 4)[0])
        length = struct.unpack_from(order + "I", body, 8)[0]
        frame, at = body[12 : 12 + length - 1].decode(), 12 + length
    if child:
        at += -at % 4
        at += 4 + struct.unpack_from(order + "I", body, at)[0]
    at += -at % 8
    values = struct.unpack_from(order + "%dd" % count, body, at)
    return {"stamp": stamp, "frame": frame, "values": base64.b64encode(struct.pack("<%dd" % count, *values)).decode()}


def walk(path):
    with open(path, "rb") as file:
        data = file.read()
    assert data[:8] == data[-8:] == b"\x89MCAP0\r\n"
    schemas, channels, topics, compressions, whole = {}, {}, {}, set(), True

    def entry(channel):
        schema, topic, encoding = channels[channel]
        name = schemas[schema]
        return topics.setdefault(
            topic + "\n" + name, {"topic": topic, "type": name, "encoding": encoding, "times": [], "poses": []}
        )

    def take(op, body):
        if op == 3:
            number = struct.unpack_from("<H", body, 0)[0]
            schemas[number] = text(body, 2)[0]
        elif op == 4:
            number, schema = struct.unpack_from("<HH", body, 0)
            topic, at = text(body, 4)
            channels[number] = (schema, topic, text(body, at)[0])
        elif op == 5:
            channel, _, log, _ = struct.unpack_from("<HIQQ", body, 0)
            found = entry(channel)
            found["times"].append((log, len(found["times"])))
            if found["type"] in poses and found["encoding"] == "cdr":
                found["poses"].append((log, len(found["poses"]), pose(found["type"], body[22:])))

    indexed = []
    for op, body in records(data, 8, len(data) - 8):
        take(op, body)
        if op == 7:
            channel, length = struct.unpack_from("<HI", body, 0)
            times = [struct.unpack_from("<Q", body, 6 + at)[0] for at in range(0, length, 16)]
            indexed.append((channel, times))
        if op == 6:
            size = struct.unpack_from("<Q", body, 16)[0]
            compression, at = text(body, 28)
            compressions.add(compression or "none")
            inner = body[at + 8 :]
            if compression == "zstd" and unzstd:
                inner, compression = unzstd(inner, size), ""
            if compression:
                whole = False
                continue
            for op, body in records(inner, 0, len(inner)):
                take(op, body)
    if not whole:
        for found in topics.values():
            found["times"], found["poses"] = [], []
        for channel, times in indexed:
            entry(channel)["times"] += [(time, 0) for time in times]
    for number in channels:
        entry(number)
    for found in topics.values():
        times = [time for time, _ in found.pop("times")]
        found["messages"] = len(times)
        found["start"] = "%d" % min(times) if times else None
        found["end"] = "%d" % max(times) if times else None
        found["poses"] = [dict(each, log="%d" % log) for log, _, each in sorted(found["poses"], key=lambda row: row[:2])]
    return {"path": path, "whole": whole, "compression": sorted(compressions), "topics": list(topics.values())}


json.dump([walk(path) for path in json.load(sys.stdin)], sys.stdout)
