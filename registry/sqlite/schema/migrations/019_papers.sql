-- Papers as they were issued: what stood on them, for good.
INSERT INTO counter VALUES ('paper', 0);

CREATE TABLE order_paper (
  id        INTEGER PRIMARY KEY,
  struck    INTEGER NOT NULL DEFAULT 0,
  ident     TEXT NOT NULL UNIQUE,
  number    TEXT NOT NULL REFERENCES partner_order (number),
  what      TEXT NOT NULL CHECK (what IN ('packing list', 'certificate')),
  issued_at TEXT NOT NULL,
  issued_by TEXT NOT NULL,
  says      TEXT NOT NULL
) STRICT;
CREATE INDEX order_paper_number ON order_paper (number);
