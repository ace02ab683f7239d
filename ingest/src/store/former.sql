-- Former batches stay listed, and their rows are kept as long as the settings say.
ALTER TABLE batches RENAME TO batches_1;
CREATE TABLE batches (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    source TEXT NOT NULL,
    state TEXT NOT NULL DEFAULT 'current',      -- current, replaced, undone, taken-out
    replaces INTEGER,                           -- batch that was current for its source before it
    place INTEGER NOT NULL DEFAULT 0,           -- of its source in wingtide.toml at the last load
    loaded_at TEXT NOT NULL,                    -- RFC 3339, UTC
    kind TEXT NOT NULL DEFAULT '',              -- JSON string: counts, visits, temperature
    file TEXT NOT NULL DEFAULT '',
    file_sha256 TEXT NOT NULL DEFAULT '',
    mapping_sha256 TEXT NOT NULL DEFAULT '',
    fully_reported INTEGER NOT NULL DEFAULT 0,
    rows INTEGER NOT NULL DEFAULT 0,
    parquet TEXT NOT NULL DEFAULT '',           -- '': its rows are kept no longer
    bytes INTEGER NOT NULL DEFAULT 0,           -- length of the Parquet file
    report TEXT NOT NULL DEFAULT ''             -- JSON
) STRICT;
INSERT INTO batches (id, source, place, loaded_at, kind, file, file_sha256, mapping_sha256,
                     fully_reported, rows, parquet, bytes, report)
SELECT id, source, id, loaded_at, kind, file, file_sha256, mapping_sha256,
       fully_reported, rows, parquet, bytes, report
FROM batches_1;
DROP TABLE batches_1;
CREATE UNIQUE INDEX batches_current ON batches (source) WHERE state = 'current';
