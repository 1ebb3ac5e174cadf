# tables of every spelling, and what sqlite3 makes of their columns
STATEMENTS = [
    "CREATE TABLE t(a INTEGER PRIMARY KEY, b TEXT, c BLOB)",
    "CREATE TABLE t(a DEFAULT 'x, y', b DEFAULT '(', c DEFAULT \")\", d)",
    "CREATE TABLE t('a, b' INTEGER, \"c, \"\"d\"\"\" TEXT, [e, f] BLOB, `g, ``h``` VARCHAR(10, 2))",
    "CREATE TABLE \"t\" (a INT /* first, of (two */, -- not b, nor c (\n d TEXT DEFAULT '--', e /* , */)",
    "CREATE TABLE t(a, b AS (a + 1), c GENERATED ALWAYS AS (a || ', )') VIRTUAL, d INT AS (a * 2) STORED, e)",
    "CREATE TABLE t(größe REAL, \u00fcber$1 INTEGER, \"цель\" TEXT, _x)",
    "CREATE TABLE t(a INTEGER, b TEXT, CONSTRAINT k PRIMARY KEY (a), CHECK (b <> 'a, b'), UNIQUE (a, b))",
    "CREATE TABLE t(a INTEGER, b TEXT, PRIMARY KEY (a DESC))",
    "CREATE TABLE t(a INTEGER PRIMARY KEY DESC, b TEXT)",
    "CREATE TABLE t(a INTEGER PRIMARY KEY ASC ON CONFLICT REPLACE AUTOINCREMENT, b)",
    "CREATE TABLE t(a INT PRIMARY KEY, b BIGINT, PRIMARYKEY TEXT, checked CHECK (checked IN ('a', ',')))",
    "CREATE TABLE t(a INTEGER, b INTEGER, PRIMARY KEY (a, b))",
    "CREATE TABLE t(\"primary\" INTEGER PRIMARY KEY, \"check\", 'unique' DEFAULT (max(-1, 2)) , [foreign])",
    "CREATE TABLE t(a CONSTRAINT n NOT NULL DEFAULT x'2C29', b UNSIGNED BIG INT, c CHARACTER VARYING (70), d DECIMAL(10,5), e DOUBLE PRECISION, f CLOB, g FLOATING POINT)",
    "CREATE TABLE t(A Integer Primary Key, B text collate nocase, b2 references other (x))",
    "CREATE TABLE t(a INTEGER(10) PRIMARY KEY, b)",
    "CREATE TABLE t(a,b,c, FOREIGN KEY (a, b) REFERENCES u (x, y) ON DELETE CASCADE)",
    "CREATE TABLE t AS SELECT 1 AS \"a,b\", 'x' AS c",
    "CREATE TABLE \"t\"(\n  -- the row's number, as ever\n  id INTEGER PRIMARY KEY, /* it's quoted */ topic_id INTEGER -- last, but one\n, data BLOB) -- WITHOUT ROWID",
    "CREATE TABLE t(a TEXT PRIMARY KEY, b) WITHOUT -- no numbers\n ROWID",
    "CREATE TABLE t(a INTEGER PRIMARY KEY, b ANY, c TEXT) STRICT",
]
tables = []
for number, statement in enumerate(STATEMENTS):
    name = f"table-{number}.db3"
    database = sqlite3.connect(os.path.join(folder, name), isolation_level=None)
    database.execute("pragma ignore_check_constraints = 1")
    database.execute(statement)
    info = database.execute("select name, hidden from pragma_table_xinfo('t')").fetchall()
    # what a virtual column holds is never stored
    stored = [(column, hidden) for column, hidden in info if hidden != 2]
    quoted = {column: '"' + column.replace('"', '""') + '"' for column, _ in stored}
    without = "WITHOUT" in statement and statement.endswith("ROWID") and "-- WITHOUT" not in statement
    number_of = None
    affinities = {}
    database.execute("begin")
    if not without:
        database.execute("insert or ignore into t(rowid) values (42)")
        for column in quoted:
            if database.execute(f"select {quoted[column]} = 42 from t where rowid = 42").fetchone() == (1,):
                number_of = column.lower()
    for column, hidden in stored:
        if hidden == 3 or "STRICT" in statement or without:
            continue
        kinds = []
        for value in ("'7'", "7"):
            database.execute("delete from t")
            database.execute(f"insert into t({quoted[column]}) values ({value})")
            kinds.append(database.execute(f"select typeof({quoted[column]}) from t").fetchone()[0])
        affinities[column.lower()] = "text" if kinds[1] == "text" else "blob" if kinds[0] == "text" else "number"
    database.execute("rollback")
    database.close()
    tables.append({"name": name, "statement": statement, "columns": [column.lower() for column, _ in stored], "rowNumber": number_of, "affinities": affinities, "withoutRowid": without})

# a column that was added to a row already there
DEFAULTS = [
    "b TEXT DEFAULT 'cdr'", "b DEFAULT cdr", "b DEFAULT \"cdr\"", "b TEXT NOT NULL DEFAULT 'it''s, \"so\"'", "b INTEGER DEFAULT -17", "b INTEGER DEFAULT '23'",
    "b TEXT DEFAULT 23", "b DEFAULT +5", "b DEFAULT 0x1F", "b", "b TEXT DEFAULT NULL", "b DEFAULT TRUE", "b DEFAULT (7)", "b DEFAULT 1.5", "b DEFAULT x'41'",
    "b /* DEFAULT 3 */ INT -- DEFAULT 4\n DEFAULT 5", "b INTEGER DEFAULT 'five'", "b INTEGER DEFAULT 9007199254740991", "b TEXT DEFAULT ''", "b TEXT DEFAULT 'größer'",
]
added = []
for number, definition in enumerate(DEFAULTS):
    name = f"added-{number}.db3"
    database = sqlite3.connect(os.path.join(folder, name), isolation_level=None)
    database.execute(f"pragma encoding = '{'UTF-16le' if number % 2 else 'UTF-8'}'")
    database.execute("CREATE TABLE t(a)")
    database.execute("insert into t values (1)")
    database.execute(f"ALTER TABLE t ADD COLUMN {definition}")
    database.execute("insert into t values (2, 'given')")
    values = [row[0] for row in database.execute("select b from t order by rowid")]
    database.close()
    added.append({"name": name, "definition": definition, "values": [value if isinstance(value, (str, int)) else None for value in values]})

# a bag whose tables are spelled as no recorder does
database = create(
    "spelled.db3",
    topics="CREATE TABLE 'Topics' (\"ID\" INTEGER, [Name] TEXT, type TEXT DEFAULT ',', -- , \n PRIMARY KEY (id))",
    messages="CREATE TABLE Messages(id INTEGER PRIMARY KEY, twice INT AS (topic_id * 2), note TEXT DEFAULT 'a, b', Topic_ID INT, \"TimeStamp\" INT /* ns, since 1970 */, data BLOB)",
)
database.execute("insert into topics(id, name, type) values (-3, '/mocap/airframe', 'geometry_msgs/msg/PoseStamped')")
database.execute("ALTER TABLE topics ADD COLUMN serialization_format TEXT DEFAULT 'cdr'")
record(database, 0, 40, topic=-3)
database.close()

# its first page, and with it the encoding, is only in the log
database = create("utf16.db3", "journal_mode = wal", "wal_autocheckpoint = 0", "encoding = 'UTF-16le'")
add_topic(database)
record(database, 0, 40)
keep("utf16.db3", "utf16-log.db3", "-wal")
encoding = struct.unpack_from(">I", open(os.path.join(folder, "utf16-log.db3"), "rb").read(), 56)[0]
database.close()

database = create("keyed.db3", messages="CREATE TABLE MESSAGES(topic_id INTEGER, timestamp INTEGER, data BLOB, PRIMARY KEY (topic_id, timestamp)) WITHOUT ROWID")
database.close()
database = create("timed.db3", messages="CREATE TABLE messages(timestamp INTEGER PRIMARY KEY, topic_id INTEGER, data BLOB)")
database.close()
database = create("numberless.db3", topics="CREATE TABLE topics(name TEXT, type TEXT, serialization_format TEXT)")
database.close()
rows = {"spelled.db3": rows_of("spelled.db3"), "utf16-log.db3": rows_of("utf16-log.db3", "-wal")}
print(json.dumps({"tables": tables, "added": added, "rows": rows, "encoding": encoding}))
