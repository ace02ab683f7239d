-- What was decided of a site's half-year, and when. The last decision holds; a new one is made
-- only when records reach a half-year that was a gap.
CREATE TABLE half_years (
    site TEXT NOT NULL,
    year INTEGER NOT NULL,
    half INTEGER NOT NULL,                      -- 1: January-June, 2: July-December
    gap INTEGER NOT NULL,                       -- 1: visits without any record, taken as not made
    decided_at TEXT NOT NULL,                   -- RFC 3339, UTC: the load that decided
    PRIMARY KEY (site, year, half, decided_at)
) STRICT;

-- Everything but the sources that the last load's outcome hangs on: where it is another, the
-- gaps are settled anew although no file changed.
ALTER TABLE last_load ADD COLUMN basis TEXT NOT NULL DEFAULT '';
