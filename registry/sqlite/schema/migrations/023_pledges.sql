-- What supporters said that they would bring, until it comes.
INSERT INTO counter VALUES ('pledge', 0);

CREATE TABLE pledge (
  id         INTEGER PRIMARY KEY,
  struck     INTEGER NOT NULL DEFAULT 0,
  ident      TEXT NOT NULL UNIQUE,
  what       TEXT NOT NULL,
  what_key   TEXT NOT NULL,
  quantity   REAL NOT NULL CHECK (quantity > 0),
  who        TEXT NOT NULL,
  day        TEXT NOT NULL,
  note       TEXT NOT NULL,
  state      TEXT NOT NULL CHECK (state IN ('open', 'arrived', 'dropped')),
  pledged_at TEXT NOT NULL,
  pledged_by TEXT NOT NULL,
  ended      TEXT NOT NULL
) STRICT;
CREATE INDEX pledge_state ON pledge (state);
