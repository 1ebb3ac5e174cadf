# A bag whose messages are three levels deep, damaged in many ways. dbstat tells on which page which rows lie: leaves come in the order of
# their rows, each with its count of cells.
PAGE = 512


def bag(name, extra=lambda database: None, rows=4000):
    database = create(name, f"page_size = {PAGE}", "synchronous = off", "secure_delete = off")
    add_topic(database)
    # rows of other tables, on leaves that lie among those of the messages
    database.execute("CREATE TABLE message_definitions(id INTEGER PRIMARY KEY, topic_type TEXT NOT NULL, encoding TEXT NOT NULL, definition TEXT NOT NULL)")
    for k in range(0, rows, 100):
        record(database, k, k + 100)
        database.executemany("insert into message_definitions(topic_type, encoding, definition) values (?, ?, ?)", [(str(k), "7", "x" * 90)] * 5)
        extra(database)
    return database


def leaves_of(database):
    """Page and rows of each leaf of the messages, and the pages between them and the root."""
    leaves, inner, done = [], [], 0
    rows = [row for (row,) in database.execute("select id from messages order by id")]
    for path, page, kind, cells in database.execute("select path, pageno, pagetype, ncell from dbstat where name = 'messages' order by path"):
        if kind == "leaf":
            leaves.append((page, rows[done : done + cells]))
            done += cells
        elif kind == "internal" and path != "/":
            inner.append(page)
    return leaves, inner


def with_zeros(source, name, *pages):
    content = bytearray(open(os.path.join(folder, source), "rb").read())
    for page in pages:
        content[(page - 1) * PAGE : page * PAGE] = bytes(PAGE)
    open(os.path.join(folder, name), "wb").write(content)


def children_of(source, page):
    """SQLite, Database File Format, section 1.6: cells of an interior page begin with the page they lead to, the last is in the header."""
    content = open(os.path.join(folder, source), "rb").read()[(page - 1) * PAGE : page * PAGE]
    assert content[0] == 5
    pointers = struct.unpack_from(f">{struct.unpack_from('>H', content, 3)[0]}H", content, 12)
    return [struct.unpack_from(">I", content, pointer)[0] for pointer in pointers] + [struct.unpack_from(">I", content, 8)[0]]


def roots(database):
    return dict(database.execute("select name, rootpage from sqlite_schema where type = 'table'"))


facts = {}
database = bag("deep.db3")
leaves, inner = leaves_of(database)
# the first page's last cell has the highest row of the last but one of its branches
branches = [path.split("/")[1] for (path,) in database.execute("select path from dbstat where name = 'messages' and pagetype = 'leaf' order by path")]
reach = max(row for branch, (_, rows) in zip(branches, leaves) if branch != branches[-1] for row in rows)
root = roots(database)
pages = database.execute("pragma page_count").fetchone()[0]
database.close()
content = open(os.path.join(folder, "deep.db3"), "rb").read()
for percent in (20, 50, 80, 99):
    kept = pages * percent // 100
    # and a part of the page behind them
    open(os.path.join(folder, f"cut-{percent}.db3"), "wb").write(content[: kept * PAGE + 100])
    facts[f"cut-{percent}.db3"] = sorted(row for page, rows in leaves if page <= kept for row in rows)
with_zeros("deep.db3", "inner.db3", *inner[1:3])
with_zeros("deep.db3", "root.db3", root["messages"])
facts["inner.db3"] = facts["root.db3"] = sorted(row for _, rows in leaves for row in rows)
with_zeros("deep.db3", "topics.db3", root["messages"], root["topics"])

# a message of an unknown topic behind each
database = bag("orphans.db3", lambda database: record(database, 0, 100, topic=9), rows=1000)
# counted as if theirs were the only rows
facts["orphans-root.db3"] = [k + 1 for k in range(database.execute("select count(*) from messages where topic_id = 1").fetchone()[0])]
root = roots(database)
database.close()
with_zeros("orphans.db3", "orphans-root.db3", root["messages"])

# as if a recorder had been stopped when it had moved rows to another page, but not yet taken them off the first: two leaves hold the same
database = bag("moved-sound.db3", rows=1000)
leaves, inner = leaves_of(database)
database.close()
content = bytearray(open(os.path.join(folder, "moved-sound.db3"), "rb").read())
(source, rows), (target, _) = leaves[10], leaves[12]
content[(target - 1) * PAGE : target * PAGE] = content[(source - 1) * PAGE : source * PAGE]
open(os.path.join(folder, "moved.db3"), "wb").write(content)
moved = sqlite3.connect(os.path.join(folder, "moved.db3"))
doubled = [moved.execute("pragma integrity_check").fetchone()[0], moved.execute("select count(*) from messages not indexed").fetchone()[0]]
moved.close()

# rows that were deleted still lie on pages that are no longer used: they are messages no more
database = bag("deleted.db3", rows=2000)
database.execute("delete from messages where id between 600 and 1400")
leaves, inner = leaves_of(database)
free = database.execute("pragma freelist_count").fetchone()[0]
root = roots(database)
database.close()
with_zeros("deleted.db3", "deleted-root.db3", root["messages"])
facts["deleted-root.db3"] = sorted(row for _, rows in leaves for row in rows)
trunk = struct.unpack_from(">I", open(os.path.join(folder, "deleted.db3"), "rb").read(), 32)[0]
with_zeros("deleted.db3", "deleted-unknown.db3", inner[0], trunk)
lost = set(children_of("deleted.db3", inner[0]))
facts["deleted-unknown.db3"] = sorted(row for page, rows in leaves if page not in lost for row in rows)

# another table could hold the same
def old(database):
    database.execute("CREATE TABLE IF NOT EXISTS old_messages(id INTEGER PRIMARY KEY, topic_id INTEGER, timestamp INTEGER, data BLOB)")
    database.executemany("insert into old_messages(topic_id, timestamp, data) values (1, ?, ?)", [(STAMP, pose(9999))] * 50)


database = bag("twins.db3", old, rows=2000)
leaves, inner = leaves_of(database)
database.close()
with_zeros("twins.db3", "twins-inner.db3", inner[0])
lost = set(children_of("twins.db3", inner[0]))
facts["twins-inner.db3"] = sorted(row for page, rows in leaves if page not in lost for row in rows)
print(json.dumps({"rows": facts, "pages": pages, "inner": len(inner), "free": free, "doubled": doubled, "reach": reach}))
