"""What the programs of these tests share: a ROS 2 bag by Python's sqlite3, with poses of x = k / 8 every 10 ms, and what sqlite3
itself reads of a file. They get their folder on standard input."""

import json
import os
import shutil
import sqlite3
import struct
import sys

folder = json.load(sys.stdin)
STAMP = 1700000000000000000
TOPICS = "CREATE TABLE topics(id INTEGER PRIMARY KEY,name TEXT NOT NULL,type TEXT NOT NULL,serialization_format TEXT NOT NULL,offered_qos_profiles TEXT NOT NULL)"
MESSAGES = "CREATE TABLE messages(id INTEGER PRIMARY KEY, topic_id INTEGER NOT NULL, timestamp INTEGER NOT NULL, data BLOB NOT NULL)"


def pose(k):
    head = struct.pack("<BBHIII", 0, 1, 0, 1700000000 + k // 100, k % 100 * 10_000_000, 4) + b"map\0"
    head += b"\0" * (-(len(head) - 4) % 8)
    return head + struct.pack("<7d", k / 8, -k / 16, 1.5, 0, 0, 0, 1)


def create(name, *pragmas, topics=TOPICS, messages=MESSAGES):
    database = sqlite3.connect(os.path.join(folder, name), isolation_level=None)
    for pragma in pragmas:
        database.execute(f"pragma {pragma}")
    database.execute(topics)
    database.execute(messages)
    return database


def add_topic(database, number=1, name="/mocap/airframe"):
    database.execute("insert into topics(id, name, type, serialization_format, offered_qos_profiles) values (?, ?, 'geometry_msgs/msg/PoseStamped', 'cdr', '')", (number, name))


def record(database, start, end, topic=1):
    """One transaction."""
    database.execute("begin")
    database.executemany("insert into messages(topic_id, timestamp, data) values (?, ?, ?)", ((topic, STAMP + k * 10_000_000, pose(k)) for k in range(start, end)))
    database.execute("commit")


def keep(name, copy, *endings):
    """Copies a database as it lies on the disk just now, with the files beside it."""
    for ending in ("", *endings):
        shutil.copy(os.path.join(folder, name + ending), os.path.join(folder, copy + ending))


def rows_of(name, *endings):
    """k of each message that sqlite3 reads, from a copy: it removes and changes files."""
    keep(name, "reference.db3", *endings)
    database = sqlite3.connect(os.path.join(folder, "reference.db3"))
    rows = [int(8 * struct.unpack_from("<d", data, len(pose(0)) - 56)[0]) for (data,) in database.execute("select data from messages order by id")]
    database.close()
    for ending in ("", "-wal", "-shm", "-journal"):
        path = os.path.join(folder, "reference.db3" + ending)
        if os.path.exists(path):
            os.remove(path)
    return rows
