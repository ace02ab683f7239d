-- Answers to what is asked about records, so that a load does not go through all of them again.
-- Questions that follow from the records of one site, with what those records are.
CREATE TABLE asked_of_sites (
    site TEXT PRIMARY KEY,
    inputs TEXT NOT NULL,
    asked TEXT NOT NULL                         -- JSON
) STRICT;
-- What a batch, which never changes, has to say to questions that go over all sites.
CREATE TABLE asked_of_batches (
    batch INTEGER PRIMARY KEY,
    inputs TEXT NOT NULL,
    asked TEXT NOT NULL                         -- JSON
) STRICT;
