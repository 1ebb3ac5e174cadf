"""What is in the SQLite files of ROS 2 bags, by Python's sqlite3 module: {path: {topic: [count, first, last]}} for the paths
on standard input, and poses decoded by hand from CDR: {path: {topic: [[x, y, z, qx, qy, qz, qw, sec, nsec], ...]}}."""

import json
import sqlite3
import struct
import sys

# fields before the position: a header or none
POSES = {
    "geometry_msgs/msg/PoseStamped": True,
    "geometry_msgs/msg/Pose": False,
    "geometry_msgs/msg/PoseWithCovarianceStamped": True,
}


def pose(data, header):
    order = "<" if data[1] else ">"
    at, sec, nsec = 4, 0, 0
    if header:
        sec, nsec, length = struct.unpack_from(order + "iII", data, at)
        at += 12 + length
    at += -(at - 4) % 8
    return list(struct.unpack_from(order + "7d", data, at)) + [sec, nsec]


facts = {}
for path in json.load(sys.stdin):
    database = sqlite3.connect(f"file:{path}?immutable=1", uri=True)
    topics = {}
    poses = {}
    for topic, name, kind in database.execute("select id, name, type from topics"):
        count, first, last = database.execute(
            "select count(*), min(timestamp), max(timestamp) from messages where topic_id = ?", (topic,)
        ).fetchone()
        topics[name] = [count, str(first), str(last), kind]
        if kind in POSES:
            rows = database.execute("select data from messages where topic_id = ? order by timestamp, id", (topic,))
            poses[name] = [pose(row[0], POSES[kind]) for row in rows]
    facts[path] = {"topics": topics, "poses": poses}
print(json.dumps(facts))
