-- Gift letters and care sheets are papers, too.
CREATE TABLE letter_paper (
  id        INTEGER PRIMARY KEY,
  struck    INTEGER NOT NULL DEFAULT 0,
  ident     TEXT NOT NULL UNIQUE,
  number    TEXT NOT NULL REFERENCES partner_order (number),
  what      TEXT NOT NULL CHECK (what IN ('packing list', 'certificate', 'gift letter', 'care sheet')),
  issued_at TEXT NOT NULL,
  issued_by TEXT NOT NULL,
  says      TEXT NOT NULL
) STRICT;
INSERT INTO letter_paper SELECT id, struck, ident, number, what, issued_at, issued_by, says FROM order_paper;
DROP TABLE order_paper;
ALTER TABLE letter_paper RENAME TO order_paper;
CREATE INDEX order_paper_number ON order_paper (number);
