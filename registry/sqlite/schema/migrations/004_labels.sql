-- Lasting labels as they were printed. Undoing an action does not take a label off a machine, so this is no history.

CREATE TABLE print (
  id          INTEGER PRIMARY KEY,
  tag         TEXT NOT NULL,
  fingerprint TEXT NOT NULL, -- of everything that stands on it
  at          TEXT NOT NULL,
  by          TEXT NOT NULL  -- empty when nobody said
) STRICT;
CREATE INDEX print_tag ON print (tag);
