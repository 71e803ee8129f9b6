-- Batches in which strips of different kits may meet in a hooping: all kits of a hoop set have one plan, which is followed once.
ALTER TABLE batch ADD COLUMN shared INTEGER NOT NULL DEFAULT 0;
