"""Error of the vehicle in the eleven flights, with numpy and scipy alone: {"logs": [[path, t0, t1], ...], "split": n}."""

import json
import sys

import numpy
from scipy import stats

asked = json.load(sys.stdin)
runs = []
for path, start, end in asked["logs"]:
    rows = numpy.genfromtxt(path, delimiter=",", names=True)
    t = rows["t"] - rows["t"][0]
    inside = (t >= start - 1e-6) & (t < end - 1e-6)
    error = [rows["p" + axis][inside] - rows["sp_ctrltarget_" + axis][inside] for axis in "xyz"]
    runs.append({"rows": len(t), "samples": int(inside.sum()), "rms": [float(numpy.sqrt(numpy.mean(e**2))) for e in error]})

    # how long the motion comes after its command: the shift that leaves the least over all axes, about a free mean
    def left(shift):
        at = [numpy.interp(t[inside] - shift, t, rows["sp_ctrltarget_" + axis]) for axis in "xyz"]
        return sum(numpy.var(rows["p" + axis][inside] - command) for axis, command in zip("xyz", at))

    runs[-1]["delay"] = float(min(numpy.arange(0, 1, 0.002), key=left))
rms = numpy.array([run["rms"] for run in runs])
welch = [stats.ttest_ind(rms[asked["split"]:, k], rms[: asked["split"], k], equal_var=False) for k in range(3)]
print(json.dumps({"runs": runs, "p": [float(w.pvalue) for w in welch], "t": [float(w.statistic) for w in welch]}))
