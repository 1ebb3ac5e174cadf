# row numbers down to where a double is no longer exact, and a little beyond the shortest of each length
NUMBERS = sorted({sign * value for bits in (7, 8, 14, 28, 35, 42, 49, 53) for value in (2**bits - 1, 2**bits if bits < 53 else 1, 0) for sign in (1, -1)} | {-2, -5, -17})
database = create("numbers.db3")
for value in NUMBERS:
    add_topic(database, value, f"/topic {value}")
    record(database, 1, 3, topic=value)
counts = dict(database.execute("select name, count(*) from topics join messages on messages.topic_id = topics.id group by topics.id").fetchall())
database.close()
print(json.dumps(counts))
