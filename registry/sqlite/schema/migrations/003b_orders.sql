-- Orders of partners, what they ask for, and the heads and bases that fill their places.

INSERT INTO counter VALUES ('order', 0);

CREATE TABLE partner_order (
  id          INTEGER PRIMARY KEY,
  struck      INTEGER NOT NULL DEFAULT 0,
  number      TEXT NOT NULL UNIQUE,
  partner     TEXT NOT NULL,
  due         TEXT NOT NULL,
  priority    INTEGER NOT NULL,
  supply      TEXT NOT NULL,
  currency    TEXT NOT NULL,
  state       TEXT NOT NULL CHECK (state IN ('open', 'shipped', 'cancelled')),
  timber_mark TEXT NOT NULL,
  note        TEXT NOT NULL,
  opened_at   TEXT NOT NULL,
  opened_by   TEXT NOT NULL,
  shipped_at  TEXT NOT NULL
) STRICT;
CREATE INDEX partner_order_state ON partner_order (state);

CREATE TABLE order_line (
  id         INTEGER PRIMARY KEY,
  struck     INTEGER NOT NULL DEFAULT 0,
  number     TEXT NOT NULL REFERENCES partner_order (number),
  line       INTEGER NOT NULL,
  wanted     TEXT NOT NULL CHECK (wanted IN ('treadle-set', 'hand', 'electric')),
  asked      INTEGER NOT NULL CHECK (asked >= 0),
  made_after INTEGER NOT NULL,
  maker      TEXT NOT NULL,
  bed        TEXT NOT NULL,
  stitch     TEXT NOT NULL
) STRICT;
CREATE UNIQUE INDEX order_line_place ON order_line (number, line) WHERE struck = 0;

CREATE TABLE order_set (
  id        INTEGER PRIMARY KEY,
  struck    INTEGER NOT NULL DEFAULT 0,
  number    TEXT NOT NULL REFERENCES partner_order (number),
  line      INTEGER NOT NULL,
  head      TEXT NOT NULL REFERENCES machine (tag),
  base      TEXT NOT NULL,
  minutes   INTEGER NOT NULL,
  work      TEXT NOT NULL,
  stands    INTEGER NOT NULL,
  at        TEXT NOT NULL,
  by        TEXT NOT NULL,
  packed_at TEXT NOT NULL,
  packed_by TEXT NOT NULL
) STRICT;
CREATE INDEX order_set_number ON order_set (number);
-- Whatever the program does, no head and no base is promised twice.
CREATE UNIQUE INDEX order_set_head ON order_set (head) WHERE stands = 1 AND struck = 0;
CREATE UNIQUE INDEX order_set_base ON order_set (base) WHERE stands = 1 AND struck = 0 AND base <> '';
