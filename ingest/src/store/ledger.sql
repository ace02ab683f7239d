-- One row for each source that is loaded; its rows lie in the Parquet file.
CREATE TABLE batches (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    source TEXT NOT NULL UNIQUE,
    loaded_at TEXT NOT NULL,                    -- RFC 3339, UTC
    kind TEXT NOT NULL DEFAULT '',              -- JSON string: counts, visits, temperature
    file TEXT NOT NULL DEFAULT '',
    file_sha256 TEXT NOT NULL DEFAULT '',
    mapping_sha256 TEXT NOT NULL DEFAULT '',
    fully_reported INTEGER NOT NULL DEFAULT 0,
    rows INTEGER NOT NULL DEFAULT 0,
    parquet TEXT NOT NULL DEFAULT '',
    bytes INTEGER NOT NULL DEFAULT 0,           -- length of the Parquet file
    report TEXT NOT NULL DEFAULT ''             -- JSON
) STRICT;

-- Half-years with visits but without any record, which count as not visited.
CREATE TABLE gaps (
    site TEXT NOT NULL,
    year INTEGER NOT NULL,
    half INTEGER NOT NULL,                      -- 1: January-June, 2: July-December
    visits INTEGER NOT NULL,
    PRIMARY KEY (site, year, half)
) STRICT;

-- The report on the last load that changed anything.
CREATE TABLE last_load (
    id INTEGER PRIMARY KEY CHECK (id = 1),
    loaded_at TEXT NOT NULL,
    report TEXT NOT NULL                        -- JSON
) STRICT;

-- What was fitted, with the fingerprint of the history it was fitted to.
CREATE TABLE fits (
    site TEXT NOT NULL,
    species TEXT NOT NULL,
    inputs TEXT NOT NULL,
    fit TEXT NOT NULL,                          -- JSON
    PRIMARY KEY (site, species)
) STRICT;
