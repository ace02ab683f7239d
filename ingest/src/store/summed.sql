-- What a batch holds of each site, so that neither a load nor a question about one site reads all
-- of the batch. A batch that an older version wrote has no row here until the next load.
CREATE TABLE batch_sites (
    batch INTEGER NOT NULL,
    site TEXT NOT NULL,
    first_row INTEGER,                          -- of its rows in the Parquet file; NULL: anywhere
    rows INTEGER,
    days TEXT NOT NULL,                         -- JSON: what its rows tell of visits
    PRIMARY KEY (batch, site)
) STRICT;

-- Size, times and place on the disk of each source's file when its content was last looked at:
-- where they are the same the file is not read.
CREATE TABLE seen_files (
    source TEXT PRIMARY KEY,
    stamp TEXT NOT NULL,                        -- SHA-256 of them
    file_sha256 TEXT NOT NULL                   -- of the content
) STRICT;
