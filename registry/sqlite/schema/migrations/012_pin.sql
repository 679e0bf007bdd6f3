-- What the history knows of the PINs by which people sign; the hashes stand in identity, which is in no history.
CREATE TABLE pin (
  id     INTEGER PRIMARY KEY,
  struck INTEGER NOT NULL DEFAULT 0,
  who    TEXT NOT NULL,
  set_at TEXT NOT NULL,
  set_by TEXT NOT NULL,
  wrong  INTEGER NOT NULL CHECK (wrong >= 0)
) STRICT;
CREATE UNIQUE INDEX pin_who ON pin (who);
