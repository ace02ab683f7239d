-- Every forecast of a week that was issued, with the fingerprint of the history behind it: the
-- same forecast from the same history is kept once.
CREATE TABLE issued (
    site TEXT NOT NULL,
    species TEXT NOT NULL,
    monday TEXT NOT NULL,                       -- first day of the week, YYYY-MM-DD
    inputs TEXT NOT NULL,
    issued_at TEXT NOT NULL,                    -- RFC 3339, UTC
    visits_assumed INTEGER NOT NULL,
    chance_visit REAL NOT NULL,
    chance_week REAL NOT NULL,
    PRIMARY KEY (site, species, monday, inputs)
) STRICT;

-- How often a site's forecasts came true over past seasons, with the same fingerprint.
CREATE TABLE records (
    site TEXT PRIMARY KEY,
    inputs TEXT NOT NULL,
    record TEXT NOT NULL                        -- JSON
) STRICT;
