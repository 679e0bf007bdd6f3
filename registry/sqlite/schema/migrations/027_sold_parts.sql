-- Parts with a code that left the house by themselves, sold or as scrap; and of which parts a lot was, so that what such parts brought is known.
ALTER TABLE spare ADD COLUMN left_at TEXT NOT NULL DEFAULT '';
ALTER TABLE spare ADD COLUMN left_by TEXT NOT NULL DEFAULT '';
ALTER TABLE taking ADD COLUMN part TEXT NOT NULL DEFAULT '';
ALTER TABLE taking ADD COLUMN pieces INTEGER NOT NULL DEFAULT 0 CHECK (pieces >= 0);
