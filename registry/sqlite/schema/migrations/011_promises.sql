-- What becomes of a promise: the work that it needs, its trial as a set, the delivery with which it leaves, and why it was broken.
ALTER TABLE order_set ADD COLUMN tried_at TEXT NOT NULL DEFAULT '';
ALTER TABLE order_set ADD COLUMN tried_by TEXT NOT NULL DEFAULT '';
ALTER TABLE order_set ADD COLUMN shipped_at TEXT NOT NULL DEFAULT '';
ALTER TABLE order_set ADD COLUMN out_at TEXT NOT NULL DEFAULT '';
ALTER TABLE order_set ADD COLUMN out_why TEXT NOT NULL DEFAULT '';
ALTER TABLE partner_order ADD COLUMN short_why TEXT NOT NULL DEFAULT ''; -- why it was closed with places unfilled

CREATE INDEX order_set_lost_head ON order_set (head) WHERE stands = 0;
CREATE INDEX order_set_lost_base ON order_set (base) WHERE stands = 0;

CREATE TABLE work_order (
  id          INTEGER PRIMARY KEY,
  struck      INTEGER NOT NULL DEFAULT 0,
  ident       TEXT NOT NULL,
  number      TEXT NOT NULL REFERENCES partner_order (number),
  head        TEXT NOT NULL REFERENCES machine (tag),
  base        TEXT NOT NULL,
  promised_at TEXT NOT NULL, -- of the place that it is for: given back, that place stands no longer, nor does its work
  job         TEXT NOT NULL,
  minutes     INTEGER NOT NULL CHECK (minutes >= 0),
  skill       TEXT NOT NULL,
  parts       TEXT NOT NULL,
  done_at     TEXT NOT NULL,
  done_by     TEXT NOT NULL,
  spent       INTEGER NOT NULL
) STRICT;
CREATE INDEX work_order_number ON work_order (number);
CREATE UNIQUE INDEX work_order_ident ON work_order (ident) WHERE struck = 0;
