-- Small things put with a machine.

CREATE TABLE kit_item (
  id     INTEGER PRIMARY KEY,
  struck INTEGER NOT NULL DEFAULT 0,
  tag    TEXT NOT NULL REFERENCES machine (tag),
  part   TEXT NOT NULL,
  count  INTEGER NOT NULL CHECK (count >= 0)
) STRICT;
CREATE UNIQUE INDEX kit_item_part ON kit_item (tag, part) WHERE struck = 0;
