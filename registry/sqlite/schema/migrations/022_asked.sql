-- What a line asks of machines that take the mains, beyond the supply where they go.
ALTER TABLE order_line ADD COLUMN other_volts INTEGER NOT NULL DEFAULT 0;
ALTER TABLE order_line ADD COLUMN cord INTEGER NOT NULL DEFAULT 0;
