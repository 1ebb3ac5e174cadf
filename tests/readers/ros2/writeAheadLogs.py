# a database with rows 0 to 3, and rows 4 to 39 in nine transactions of a log that was never checkpointed
PAGE = 512
FRAME = 24 + PAGE
database = create("base.db3", f"page_size = {PAGE}", "journal_mode = wal", "wal_autocheckpoint = 0")
add_topic(database)
record(database, 0, 4)
database.execute("pragma wal_checkpoint(truncate)").fetchall()
for k in range(4, 40, 4):
    record(database, k, k + 4)
keep("base.db3", "whole.db3", "-wal")
main = open(os.path.join(folder, "whole.db3"), "rb").read()
log = open(os.path.join(folder, "whole.db3-wal"), "rb").read()
# a checkpoint that lets the log begin again: one transaction, and behind it what is left of the old ones
database.execute("pragma wal_checkpoint(restart)").fetchall()
record(database, 40, 44)
keep("base.db3", "restarted.db3", "-wal")
database.close()

frames = (len(log) - 32) // FRAME
commits = [k for k in range(frames) if log[32 + k * FRAME + 4 : 32 + k * FRAME + 8] != bytes(4)]


def variant(name, content):
    open(os.path.join(folder, name), "wb").write(main)
    open(os.path.join(folder, name + "-wal"), "wb").write(content)


def damaged(at):
    return log[:at] + bytes([log[at] ^ 0x40]) + log[at + 1 :]


start = [32 + k * FRAME for k in range(frames)]
variant("empty.db3", b"")
variant("header-only.db3", log[:32])
variant("short-header.db3", log[:12])
variant("wrong-magic.db3", damaged(0))
variant("wrong-header.db3", damaged(17))
# the content of the fifth transaction's first frame, and the salt of the same
variant("wrong-content.db3", damaged(start[commits[3] + 1] + 24 + 100))
variant("wrong-salt.db3", damaged(start[commits[3] + 1] + 8))
# within the last frame: its content, its salt, its number
variant("cut-content.db3", log[: start[-1] + 24 + 100])
variant("cut-salt.db3", log[: start[-1] + 12])
variant("cut-number.db3", log[: start[-1] + 2])
# at the end of a transaction nobody can tell; within one, its frames belong to no commit
variant("cut-between.db3", log[: start[commits[6] + 1]])
variant("cut-within.db3", log[: start[commits[6] + 2]])
# nothing but the log holds the tables
database = create("unmade-whole.db3", f"page_size = {PAGE}", "journal_mode = wal", "wal_autocheckpoint = 0")
keep("unmade-whole.db3", "unmade.db3")
open(os.path.join(folder, "unmade.db3-wal"), "wb").write(log[:12])
database.close()
names = [name[:-4] for name in sorted(os.listdir(folder)) if name.endswith("-wal") and name not in ("base.db3-wal", "unmade.db3-wal")]
print(json.dumps({name: rows_of(name, "-wal") for name in names}))
