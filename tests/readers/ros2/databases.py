"""Writes SQLite files of ROS 2 bags in many shapes with Python's sqlite3 into the folder named on standard input, each with the
same messages, and prints their names."""

import json
import os
import shutil
import sqlite3
import struct
import sys

folder = json.load(sys.stdin)
names = []


def pose(k, text="map"):
    name = text.encode() + b"\0"
    head = struct.pack("<BBHIII", 0, 1, 0, 1700000000 + k // 100, k % 100 * 10_000_000, len(name)) + name
    head += b"\0" * (-(len(head) - 4) % 8)
    return head + struct.pack("<7d", k / 8, -k / 16, 1.5, 0, 0, 0, 1)


STAMP = 1700000000000000000


def write(name, rows=40, page=4096, encoding="UTF-8", text="map", definitions=False, order=None, wal=False, vacuum=True, extra=0):
    path = os.path.join(folder, name)
    database = sqlite3.connect(path)
    database.execute(f"pragma page_size = {page}")
    database.execute(f"pragma encoding = '{encoding}'")
    if wal:
        database.execute("pragma journal_mode = wal")
        database.execute("pragma wal_autocheckpoint = 0")
    columns = order or "id INTEGER PRIMARY KEY, topic_id INTEGER NOT NULL, timestamp INTEGER NOT NULL, data BLOB NOT NULL"
    database.execute("CREATE TABLE topics(id INTEGER PRIMARY KEY,name TEXT NOT NULL,type TEXT NOT NULL,serialization_format TEXT NOT NULL,offered_qos_profiles TEXT NOT NULL)")
    database.execute(f"CREATE TABLE messages({columns})")
    database.execute("CREATE INDEX timestamp_idx ON messages (timestamp ASC)")
    if definitions:
        database.execute("CREATE TABLE message_definitions(id INTEGER PRIMARY KEY, topic_type TEXT NOT NULL, encoding TEXT NOT NULL, encoded_message_definition TEXT NOT NULL)")
        database.execute("insert into message_definitions(topic_type, encoding, encoded_message_definition) values ('lab/msg/Tip', 'ros2msg', 'float64 reach\nint16 step')")
        database.execute("insert into topics values (2, '/tip', 'lab/msg/Tip', 'cdr', '')")
    database.execute("insert into topics values (1, '/mocap/airframe', 'geometry_msgs/msg/PoseStamped', 'cdr', '')")
    for k in range(rows):
        database.execute("insert into messages(topic_id, timestamp, data) values (1, ?, ?)", (STAMP + k * 10_000_000, pose(k, text)))
        if definitions:
            database.execute("insert into messages(topic_id, timestamp, data) values (2, ?, ?)", (STAMP + k * 10_000_000, struct.pack("<BBHdh", 0, 1, 0, k / 4, k)))
        if extra:
            database.execute("insert into messages(topic_id, timestamp, data) values (9, ?, ?)", (STAMP + k * 10_000_000, bytes(extra)))
    database.commit()
    if wal:
        # as a recorder that was killed leaves them: nothing checkpointed, and one transaction that was not committed
        database.execute("insert into messages(topic_id, timestamp, data) values (1, ?, ?)", (STAMP + 10**12, pose(0)))
        copy = os.path.join(folder, "killed-" + name)
        shutil.copy(path, copy)
        shutil.copy(path + "-wal", copy + "-wal")
        names.append("killed-" + name)
    database.close()
    names.append(name)


for page in (512, 1024, 8192, 65536):
    write(f"page-{page}.db3", page=page)
write("many-rows.db3", rows=5000, page=512)
write("utf16le.db3", encoding="UTF-16le")
write("utf16be.db3", encoding="UTF-16be")
write("long-frame.db3", text="m" * 9000, page=1024)
write("long-frame-64k.db3", text="m" * 300_000)
write("images.db3", extra=50_000)
write("other-order.db3", order='"data" BLOB NOT NULL, [timestamp] INTEGER, `topic_id` INTEGER, id INTEGER PRIMARY KEY, CHECK (timestamp > 0)')
write("message-first.db3", text="m" * 3000, page=1024, order="data BLOB NOT NULL, topic_id INTEGER, timestamp INTEGER")
write("definitions.db3", definitions=True)
write("wal.db3", wal=True)

# rows and topics that are not what they should be; not among the names: its test knows what it holds
odd = sqlite3.connect(os.path.join(folder, "odd-rows.db3"))
odd.execute("CREATE TABLE topics(id INTEGER PRIMARY KEY,name TEXT NOT NULL,type TEXT NOT NULL,serialization_format TEXT NOT NULL,offered_qos_profiles TEXT NOT NULL)")
odd.execute("CREATE TABLE messages(id INTEGER PRIMARY KEY, topic_id INTEGER, timestamp INTEGER, data BLOB NOT NULL)")
odd.execute("CREATE TABLE message_definitions(id INTEGER PRIMARY KEY, topic_type TEXT NOT NULL, encoding TEXT NOT NULL, encoded_message_definition TEXT NOT NULL)")
odd.execute("insert into message_definitions(topic_type, encoding, encoded_message_definition) values ('geometry_msgs/msg/PoseStamped', 'unknown', '')")
odd.execute("insert into topics values (1, '/mocap/airframe', 'geometry_msgs/msg/PoseStamped', 'cdr', '')")
odd.execute("insert into topics values (4294967297, '/mocap/tool', 'geometry_msgs/msg/PoseStamped', 'cdr', '')")
for k in range(10):
    stamp = None if k in (2, 5, 7) else STAMP + k * 10_000_000
    odd.execute("insert into messages(topic_id, timestamp, data) values (1, ?, ?)", (stamp, pose(k)))
    odd.execute("insert into messages(topic_id, timestamp, data) values (4294967297, ?, ?)", (STAMP + k * 10_000_000, pose(100 + k)))
odd.commit()
odd.close()
print(json.dumps(names))
