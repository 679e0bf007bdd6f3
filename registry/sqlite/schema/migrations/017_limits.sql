-- The rate that a person entered for an order, with its two currencies, and the watts that a line takes.
ALTER TABLE partner_order ADD COLUMN rate TEXT NOT NULL DEFAULT '';
ALTER TABLE order_line ADD COLUMN watts_max INTEGER NOT NULL DEFAULT 0;
