-- What leaves together, and which filled place of an order goes with it.
INSERT INTO counter VALUES ('shipment', 0);

CREATE TABLE shipment (
  id        INTEGER PRIMARY KEY,
  struck    INTEGER NOT NULL DEFAULT 0,
  ident     TEXT NOT NULL UNIQUE,
  container TEXT NOT NULL CHECK (container IN ('20', '40')),
  day       TEXT NOT NULL,
  freight_hundredths INTEGER NOT NULL CHECK (freight_hundredths >= 0),
  currency  TEXT NOT NULL,
  note      TEXT NOT NULL,
  state     TEXT NOT NULL CHECK (state IN ('open', 'left', 'arrived')),
  orders    TEXT NOT NULL,
  opened_at TEXT NOT NULL,
  opened_by TEXT NOT NULL,
  left_at   TEXT NOT NULL,
  left_by   TEXT NOT NULL,
  arrived   TEXT NOT NULL,
  receipt   TEXT NOT NULL,
  damage    TEXT NOT NULL
) STRICT;
CREATE INDEX shipment_state ON shipment (state);

ALTER TABLE order_set ADD COLUMN shipment TEXT NOT NULL DEFAULT '';
CREATE INDEX order_set_shipment ON order_set (shipment) WHERE shipment <> '';
