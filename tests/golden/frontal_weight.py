"""Error of the vehicle in two public flights, from the reference implementation of the log format and numpy alone.

Reads JSON on standard input: [{"log": path, "epoch": nanoseconds, "windows": [[from, to], ...]}, ...], windows in seconds
after the epoch. Poses are placed by their header stamps, setpoints (whose stamps are zero) by their time of receipt, and a
setpoint holds until the next one: 10 Hz, one step. Prints per log what was read, and per window the figures by axis.
"""

import json
import sys

import numpy
import rosbag

POSE = "/neptune/mavros/vision_pose/pose"
SETPOINT = "/neptune/mavros/setpoint_position/local"


def rows(log, topic, header, epoch):
    found = []
    with rosbag.Bag(log) as bag:
        for _, message, received in bag.read_messages(topics=[topic]):
            instant = message.header.stamp if header else received
            p = message.pose.position
            found.append([(instant.to_nsec() - epoch) / 1e9, p.x, p.y, p.z, message.header.stamp.to_nsec() == 0])
    return numpy.array(found)


def window_figures(pose, setpoint, window):
    start, end = window
    inside = pose[(pose[:, 0] >= start) & (pose[:, 0] < end)]
    held = numpy.searchsorted(setpoint[:, 0], inside[:, 0], side="right") - 1
    error = inside[:, 1:4] - setpoint[held, 1:4]
    size = numpy.linalg.norm(error, axis=1)
    # means over 0.2 s from the start of the window; a mean needs half as many samples as the typical one
    bins = numpy.floor((inside[:, 0] - start) / 0.2).astype(int)
    count = int(numpy.floor((end - start) / 0.2 + 1e-9))
    sizes = numpy.bincount(bins, minlength=count)[:count]
    typical = numpy.sort(sizes)[count // 2]
    kept = [b for b in range(count) if sizes[b] > 0 and sizes[b] >= 0.5 * typical]
    middles = start + 0.2 * (numpy.array(kept) + 0.5)
    means = numpy.array([error[bins == b].mean(axis=0) for b in kept])
    slope = numpy.polyfit(middles - middles.mean(), means, 1)[0]
    return {
        "samples": len(inside),
        "bias": list(error.mean(axis=0)),
        "sd": list(error.std(axis=0, ddof=1)),
        "rms": list(numpy.sqrt((error**2).mean(axis=0))),
        "p95": list(numpy.quantile(abs(error), 0.95, axis=0)),
        "range": list(numpy.ptp(error, axis=0)),
        "norm": [float(numpy.sqrt((size**2).mean())), float(size.max())],
        "slope": list(slope),
    }


def describe(case):
    epoch = int(case["epoch"])
    pose = rows(case["log"], POSE, True, epoch)
    setpoint = rows(case["log"], SETPOINT, False, epoch)
    changes = [i for i in range(1, len(setpoint)) if (setpoint[i, 1:4] != setpoint[i - 1, 1:4]).any()]
    return {
        "poses": len(pose),
        "setpoints": len(setpoint),
        "zero_stamps": int(setpoint[:, 4].sum()),
        "changes": [float(setpoint[i, 0]) for i in changes],
        "last_setpoint": float(setpoint[-1, 0]),
        "widest_gap": float(numpy.diff(pose[:, 0]).max()),
        "windows": [window_figures(pose, setpoint, window) for window in case["windows"]],
    }


json.dump([describe(case) for case in json.load(sys.stdin)], sys.stdout)
