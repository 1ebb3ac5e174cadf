"""One flight in two text logs with numpy alone: [mocap path, onboard path, offset, skew, t0, t1] -> true offset and rms per axis."""

import json
import sys

import numpy


def rows(path):
    lines = [line.rsplit("] ", 1)[1].strip().rstrip(",").split(",") for line in open(path)]
    return [name.split("[")[0].strip() for name in lines[0]], numpy.array(lines[1:], dtype=numpy.longdouble)


mocap_path, onboard_path, offset, skew, start, end = json.load(sys.stdin)
names, mocap = rows(mocap_path)
onboard_names, onboard = rows(onboard_path)
column = lambda table, all_names, name: table[:, all_names.index(name)]
# both programs also log seconds since one instant, which ties the clocks: date minus that
since = column(mocap, names, "Mocap timestamp") / 1e6 - column(mocap, names, "Mocap time")
t = column(mocap, names, "Mocap timestamp") / 1e6 - numpy.longdouble(offset)
command_t = column(onboard, onboard_names, "Current time")
pose = numpy.array([column(mocap, names, f"Mocap position {axis}") for axis in "xyz"])
new = numpy.append(True, (numpy.diff(pose) != 0).any(axis=0))
first = command_t[0]
t = t - skew * (t - first)
inside = new & (t - first >= start) & (t - first <= end)
rms = []
for k, axis in enumerate("xyz"):
    command = numpy.interp(t[inside].astype(float), command_t.astype(float), column(onboard, onboard_names, f"User-defined position {axis}").astype(float))
    rms.append(float(numpy.sqrt(numpy.mean((pose[k][inside] - command) ** 2))))
print(json.dumps({"offset": float(numpy.median(since)), "rms": rms, "samples": int(inside.sum()), "rows": len(t)}))
