"""Writes the same 36 000 poses on three topics as a ROS 1 bag and as an SQLite file of a ROS 2 bag, and a table of a million rows,
into the folder named."""

import os
import sqlite3
import struct
import sys

import numpy
import rosbag
import rospy
from geometry_msgs.msg import PoseStamped

folder = sys.argv[1]
random = numpy.random.default_rng(5)
START = 1700000000000000000
bag = rosbag.Bag(os.path.join(folder, "poses.bag"), "w")
database = sqlite3.connect(os.path.join(folder, "poses.db3"))
database.execute("CREATE TABLE topics(id INTEGER PRIMARY KEY, name TEXT, type TEXT, serialization_format TEXT, offered_qos_profiles TEXT)")
database.execute("CREATE TABLE messages(id INTEGER PRIMARY KEY, topic_id INTEGER NOT NULL, timestamp INTEGER NOT NULL, data BLOB NOT NULL)")
database.execute("CREATE INDEX timestamp_idx ON messages (timestamp ASC)")
for topic in (1, 2, 3):
    database.execute("insert into topics values (?, ?, 'geometry_msgs/msg/PoseStamped', 'cdr', '')", (topic, f"/t{topic}"))
for k in range(36_000):
    for topic in (1, 2, 3):
        stamp = START + k * 10_000_000 + topic
        values = random.random(7)
        sec, nsec = divmod(stamp, 10**9)
        data = struct.pack("<BBHIII4s7d", 0, 1, 0, sec, nsec, 4, b"map\0", *values)
        database.execute("insert into messages(topic_id, timestamp, data) values (?, ?, ?)", (topic, stamp, data))
        message = PoseStamped()
        message.header.stamp = rospy.Time(sec, nsec)
        message.header.frame_id = "map"
        position, orientation = message.pose.position, message.pose.orientation
        position.x, position.y, position.z, orientation.x, orientation.y, orientation.z, orientation.w = map(float, values)
        bag.write(f"/t{topic}", message, message.header.stamp)
database.commit()
bag.close()

rows = 1_000_000
table = numpy.column_stack([1.7e9 + numpy.arange(rows) / 100, random.random((rows, 10)) * 2 - 1])
numpy.savetxt(os.path.join(folder, "million.csv"), table, fmt=["%.4f"] + ["%.9f"] * 10, delimiter=",",
              header="t,x,y,z,qx,qy,qz,qw,sx,sy,sz", comments="")
