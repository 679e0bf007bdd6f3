-- Serials that were read a second time, off the picture of the plate.
CREATE TABLE reading (
  id      INTEGER PRIMARY KEY,
  struck  INTEGER NOT NULL DEFAULT 0,
  tag     TEXT NOT NULL,
  serial  TEXT NOT NULL CHECK (serial <> ''),
  photo   TEXT NOT NULL CHECK (length (photo) = 64),
  read_at TEXT NOT NULL,
  read_by TEXT NOT NULL
) STRICT;
CREATE INDEX reading_tag ON reading (tag);
