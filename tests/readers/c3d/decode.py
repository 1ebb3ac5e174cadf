"""Decodes point files by hand with numpy: paths on standard input; per file labels, rate, frames, counts of missing and zero
residuals by point, and the coordinates of the first and the last frame in which a point is there."""

import json
import struct
import sys

import numpy


def parameters(data, start, end, floats):
    """Group and parameter blocks until one has no successor."""
    groups, found, at = {}, {}, start + 4
    while at + 4 < len(data):
        length, group = abs(struct.unpack_from("b", data, at)[0]), struct.unpack_from("b", data, at + 1)[0]
        if length == 0 or group == 0:
            break
        name = data[at + 2 : at + 2 + length].decode("latin1").upper()
        step = struct.unpack_from(end + "H", data, at + 2 + length)[0]
        body = at + 4 + length
        if group < 0:
            groups[-group] = name
        elif body + 2 < len(data):
            kind, count = struct.unpack_from("bB", data, body)
            dims = list(data[body + 2 : body + 2 + count])
            size = int(numpy.prod(dims)) if dims else 1
            raw = data[body + 2 + count : body + 2 + count + size * abs(kind)]
            if len(raw) == size * abs(kind):
                if kind == -1:
                    width = dims[0] if dims else 1
                    value = [raw[k : k + width].decode("latin1").split("\0")[0].strip() for k in range(0, size, max(1, width))]
                elif kind == 2:
                    value = struct.unpack(end + f"{size}h", raw)
                elif kind == 4:
                    value = floats(raw)
                else:
                    value = list(raw)
                found[(group, name)] = value
        if step == 0:
            break
        at = at + 2 + length + step
    return {f"{groups.get(group, group)}:{name}": value for (group, name), value in found.items()}


def decode(path):
    data = open(path, "rb").read()
    if len(data) < 1024:
        return None
    start = (data[0] - 1) * 512
    processor = data[start + 3]
    end = ">" if processor == 86 else "<"

    def floats(raw):
        words = numpy.frombuffer(raw, end + "u2")
        if processor == 85:
            # the first word holds sign, exponent and the high bits; the exponent is two too large
            bits = (words[0::2].astype("u4") << 16) | words[1::2]
            return numpy.where((words[0::2] & 0x7F80) == 0, 0, bits.view("f4") / 4)
        return numpy.frombuffer(raw, end + "f4")

    told = parameters(data, start, end, floats)
    points, analog = struct.unpack_from(end + "HH", data, 2)
    if points == 0:
        return None
    first, last = struct.unpack_from(end + "HH", data, 6)
    place = (struct.unpack_from(end + "H", data, 16)[0] - 1) * 512
    scale = float(told["POINT:SCALE"][0]) if "POINT:SCALE" in told else float(floats(data[12:16])[0])
    rate = float(told["POINT:RATE"][0]) if "POINT:RATE" in told else float(floats(data[20:24])[0])
    width = 4 if scale < 0 else 2
    row = 4 * points + analog
    frames = min(last - first + 1, (len(data) - place) // (row * width))
    raw = data[place : place + frames * row * width]
    table = (floats(raw) if width == 4 else numpy.frombuffer(raw, end + "i2") * 1.0).reshape(frames, row)[:, : 4 * points]
    table = table.reshape(frames, points, 4).astype(float)
    xyz = table[:, :, :3] * (1 if width == 4 else scale)
    word = table[:, :, 3]
    # a signed 16-bit integer, with or without its sign where it is written as a floating point number
    gone = ~((word >= 0) & (word < 32768)) | ~numpy.isfinite(xyz).all(axis=2) | ((word == 0) & ~xyz.any(axis=2))
    zero = ~gone & (word == 0)
    ends = []
    for k in range(points):
        there = numpy.flatnonzero(~gone[:, k])
        ends.append(None if len(there) == 0 else [int(there[0]), *xyz[there[0], k], int(there[-1]), *xyz[there[-1], k]])
    return {
        "processor": processor,
        "labels": list(told.get("POINT:LABELS", []))[:points],
        "unit": (told.get("POINT:UNITS") or [""])[0],
        "rate": rate,
        "frames": frames,
        "missing": gone.sum(axis=0).tolist(),
        "zero": zero.sum(axis=0).tolist(),
        "ends": ends,
    }


print(json.dumps([decode(path) for path in json.load(sys.stdin)]))
