-- What came of second looks, one row an answer; rows are added and never taken away. A record goes
-- by what it says, not by its place in a file, so that an answer outlives every reload.
CREATE TABLE second_look_answers (
    id INTEGER PRIMARY KEY,
    record TEXT NOT NULL,                       -- fingerprint of site, date, species and said
    site TEXT NOT NULL,
    date TEXT NOT NULL,
    species TEXT NOT NULL,
    said TEXT NOT NULL,                         -- the count in words
    verdict TEXT NOT NULL CHECK (verdict IN ('accepted', 'changed', 'withdrawn')),
    note TEXT NOT NULL,
    evidence TEXT NOT NULL,
    answered_on TEXT NOT NULL,
    kept_at TEXT NOT NULL                       -- when it was written down here, UTC
) STRICT;
CREATE INDEX second_look_answers_of_record ON second_look_answers (record);
CREATE TRIGGER second_look_answers_stay BEFORE DELETE ON second_look_answers
BEGIN SELECT RAISE(ABORT, 'answers to second looks are kept'); END;
-- How surprising the records of past seasons were, by site: where questions begin follows from it.
CREATE TABLE second_look_scores (
    site TEXT PRIMARY KEY,
    inputs TEXT NOT NULL,
    scores TEXT NOT NULL                        -- JSON
) STRICT;
