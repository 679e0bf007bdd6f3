-- What the list of a workshop that ran before told of a base, a partner or an order that moved in, and what it
-- calls them there.
ALTER TABLE base ADD COLUMN import_id TEXT NOT NULL DEFAULT '';
ALTER TABLE base ADD COLUMN moved_in TEXT NOT NULL DEFAULT '';
ALTER TABLE partner ADD COLUMN moved_in TEXT NOT NULL DEFAULT '';
ALTER TABLE partner_order ADD COLUMN import_id TEXT NOT NULL DEFAULT '';
ALTER TABLE partner_order ADD COLUMN moved_in TEXT NOT NULL DEFAULT '';
