#!/usr/bin/python3
"""Writes the simulated columns of the sample campaign as ROS 1 bags, with the reference implementation of ROS.

usage: write_bags.py COLUMNS_FOLDER BAGS_FOLDER

COLUMNS_FOLDER holds, per log, NAME.bag.json (topics, types, column names) and NAME.bag.columns (little-endian,
8 bytes a value: receipt and stamp in nanoseconds as int64, then the columns as doubles), as tools/makeSampleData.ts
leaves them. Needs Debian's python3-rosbag, python3-geometry-msgs, python3-sensor-msgs and python3-numpy.
"""
import json
import pathlib
import sys

import genpy
import numpy
import rosbag
from geometry_msgs.msg import PointStamped, PoseStamped
from sensor_msgs.msg import BatteryState, Imu


def ros_time(nanoseconds):
    return genpy.Time(int(nanoseconds) // 1_000_000_000, int(nanoseconds) % 1_000_000_000)


def pose(message, row):
    position, turn = message.pose.position, message.pose.orientation
    position.x, position.y, position.z = row["x"], row["y"], row["z"]
    turn.x, turn.y, turn.z, turn.w = row["qx"], row["qy"], row["qz"], row["qw"]


def point(message, row):
    message.point.x, message.point.y, message.point.z = row["x"], row["y"], row["z"]


def imu(message, row):
    rate = message.angular_velocity
    rate.x, rate.y, rate.z = row["wx"], row["wy"], row["wz"]
    # sensor_msgs/Imu: -1 in the first element says that this part is not given
    message.orientation_covariance[0] = -1
    message.linear_acceleration_covariance[0] = -1


def battery(message, row):
    message.voltage, message.current, message.percentage = row["voltage"], row["current"], row["percentage"]
    message.charge = message.capacity = float("nan")
    message.design_capacity = 8.0
    message.power_supply_status = BatteryState.POWER_SUPPLY_STATUS_DISCHARGING
    message.power_supply_technology = BatteryState.POWER_SUPPLY_TECHNOLOGY_LIPO
    message.present = True


KINDS = {
    "geometry_msgs/PoseStamped": (PoseStamped, pose),
    "geometry_msgs/PointStamped": (PointStamped, point),
    "sensor_msgs/Imu": (Imu, imu),
    "sensor_msgs/BatteryState": (BatteryState, battery),
}


def messages(header, raw):
    """(receipt in nanoseconds, topic, message) of every topic, not yet in order."""
    at = 0
    for topic in header["topics"]:
        count = topic["messages"]

        def take(kind):
            nonlocal at
            column = numpy.frombuffer(raw, kind, count, at)
            at += 8 * count
            return column.tolist()

        received, stamped = take("<i8"), take("<i8")
        columns = {name: take("<f8") for name in topic["columns"]}
        make, fill = KINDS[topic["type"]]
        for i in range(count):
            message = make()
            message.header.seq = i
            message.header.stamp = ros_time(stamped[i])
            message.header.frame_id = topic["frame_id"]
            fill(message, {name: column[i] for name, column in columns.items()})
            yield received[i], topic["topic"], message


def main(columns_folder, bags_folder):
    for path in sorted(pathlib.Path(columns_folder).glob("*.bag.json")):
        name = path.name[: -len(".json")]
        header = json.loads(path.read_text())
        raw = path.with_name(f"{name}.columns").read_bytes()
        ordered = sorted(messages(header, raw), key=lambda entry: entry[0])
        target = pathlib.Path(bags_folder) / name
        with rosbag.Bag(str(target), "w", compression=rosbag.Compression.LZ4) as bag:
            for received, topic, message in ordered:
                bag.write(topic, message, ros_time(received))
        print(f"{name}: {len(ordered)} messages, {target.stat().st_size / 1e6:.2f} MB")


if __name__ == "__main__":
    if len(sys.argv) != 3:
        sys.exit(__doc__)
    main(sys.argv[1], sys.argv[2])
