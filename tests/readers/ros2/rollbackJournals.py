# databases copied in the middle of a transaction that wrote more than its cache holds: half of it is in the file, what was there before
# is in the journal
def interrupted(name, synchronous):
    database = create("open.db3", "page_size = 512", "journal_mode = delete", f"synchronous = {synchronous}", "cache_size = 8")
    add_topic(database)
    record(database, 0, 100)
    database.execute("begin")
    database.execute("update messages set data = ? where id % 3 = 0", (pose(7777),))
    database.executemany("insert into messages(topic_id, timestamp, data) values (1, ?, ?)", ((STAMP + k * 10_000_000, pose(k)) for k in range(100, 200)))
    keep("open.db3", name, "-journal")
    database.execute("rollback")
    database.close()
    os.remove(os.path.join(folder, "open.db3"))
    return open(os.path.join(folder, name + "-journal"), "rb").read()


def variant(name, journal, of="counted.db3"):
    shutil.copy(os.path.join(folder, of), os.path.join(folder, name))
    open(os.path.join(folder, name + "-journal"), "wb").write(journal)


def finished(name, mode):
    database = create(name, "page_size = 512", f"journal_mode = {mode}")
    add_topic(database)
    record(database, 0, 100)
    keep(name, "finished-" + name, "-journal")
    database.close()


counted = interrupted("counted.db3", "full")
interrupted("uncounted.db3", "off")
finished("persist.db3", "persist")
finished("truncate.db3", "truncate")
MAGIC = bytes.fromhex("d9d505f920a163d7")
sector = struct.unpack_from(">I", counted, 20)[0]
# each time the cache ran over, the journal got another header with a count of the pages behind it
counts = [struct.unpack_from(">I", counted, at + 8)[0] for at in range(0, len(counted), sector) if counted[at : at + 8] == MAGIC]
# the second page's content, a byte that its checksum takes in (512 - 200 - 200)
damaged = bytearray(counted)
damaged[sector + 520 + 4 + 112] ^= 1
variant("damaged.db3", bytes(damaged))
variant("cut.db3", counted[: sector + 3 * 520 + 100])
variant("no-journal.db3", b"none" + counted[4:])
variant("short.db3", counted[:20])
variant("foreign.db3", counted[:24] + struct.pack(">I", 1024) + counted[28:], of="finished-persist.db3")
variant("folder.db3", b"", of="finished-persist.db3")
os.mkdir(os.path.join(folder, "folder.db3-wal"))
whole = ["counted.db3", "uncounted.db3", "finished-persist.db3", "finished-truncate.db3"]
print(json.dumps({"rows": {name: rows_of(name, "-journal") for name in whole}, "counts": counts}))
