-- What a forecast can be held to: what the store knew when it was issued, and its chance for
-- the number of visits that are made in the end. What an older version kept has neither and is
-- never scored.
ALTER TABLE issued ADD COLUMN last_visit TEXT;              -- YYYY-MM-DD; NULL: no visit at all
ALTER TABLE issued ADD COLUMN chances TEXT NOT NULL DEFAULT '[]';  -- JSON: in 1, 2, ... visits
