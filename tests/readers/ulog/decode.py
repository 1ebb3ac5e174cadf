"""Decodes some topics of ULogs by hand: {"path": ..., "topics": {name: [[type, field, index], ...]}} in a list on standard input;
prints per log the rows of each topic as numbers (null for NaN), parameters, and dropouts, walking the file from its start."""

import json
import math
import struct
import sys

CODES = {"int8_t": "b", "uint8_t": "B", "int16_t": "h", "uint16_t": "H", "int32_t": "i", "uint32_t": "I",
         "int64_t": "q", "uint64_t": "Q", "float": "f", "double": "d", "bool": "?", "char": "c"}


def offsets(formats, name):
    """field -> [(offset, code), ...]; nested formats are only measured"""
    at, found = 0, {}
    for kind, count, field in formats[name]:
        places = []
        for _ in range(max(1, count)):
            if kind in CODES:
                places.append((at, CODES[kind]))
                at += struct.calcsize(CODES[kind])
            else:
                at += offsets(formats, kind)[1]
        found[field] = places
    return found, at


answers = []
for asked in json.load(sys.stdin):
    data = open(asked["path"], "rb").read()
    assert data[:7] == b"ULog\x01\x12\x35"
    formats, names, rows, parameters, dropouts, at = {}, {}, {name: [] for name in asked["topics"]}, {}, [], 16
    counts = {}
    seen = False
    while at + 3 <= len(data):
        size, kind = struct.unpack_from("<HB", data, at)
        body, at = data[at + 3 : at + 3 + size], at + 3 + size
        if kind == ord("F"):
            name, fields = body.decode().split(":")
            formats[name] = []
            for text in fields.split(";"):
                if text:
                    left, field = text.split(" ")
                    base, _, count = left.partition("[")
                    formats[name].append((base, int(count[:-1]) if count else 0, field))
        elif kind == ord("A"):
            name = body[3:].decode()
            names[struct.unpack_from("<H", body, 1)[0]] = name + (f"/{body[0]}" if body[0] else "")
        elif kind == ord("P") and not seen:
            key = body[1 : 1 + body[0]].decode().split(" ")
            parameters.setdefault(key[1], struct.unpack_from("<f" if key[0] == "float" else "<i", body, 1 + body[0])[0])
        elif kind == ord("O"):
            dropouts.append(struct.unpack_from("<H", body)[0])
        elif kind == ord("D"):
            seen = True
            topic = names[struct.unpack_from("<H", body)[0]]
            counts[topic] = counts.get(topic, 0) + 1
            if topic in rows:
                places, _ = offsets(formats, topic.split("/")[0])
                row = []
                for field, index in asked["topics"][topic]:
                    offset, code = places[field][index]
                    value = struct.unpack_from("<" + code, body, 2 + offset)[0]
                    row.append(None if isinstance(value, float) and math.isnan(value) else value)
                rows[topic].append(row)
    answers.append({"rows": rows, "parameters": parameters, "dropouts": dropouts, "counts": counts})
print(json.dumps(answers))
