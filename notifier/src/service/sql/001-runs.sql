-- Up to which instant a job's times are accounted for. Set when the service first starts, so that
-- nothing before that is caught up.
CREATE TABLE jobs (
    job TEXT PRIMARY KEY,                       -- load, digest
    counted_until TEXT NOT NULL                 -- as all times here: RFC 3339 in UTC, whole seconds
) STRICT;

-- One row for each time at which a job ran.
CREATE TABLE runs (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    job TEXT NOT NULL,
    scheduled_for TEXT NOT NULL,
    first_missed TEXT,                          -- the first of the times that this one makes up for
    attempts INTEGER NOT NULL DEFAULT 1,        -- more than 1 where a stop or a crash broke into it
    started TEXT NOT NULL,
    ended TEXT,
    outcome TEXT NOT NULL,                      -- under-way, done, troubled, failed, interrupted
    step TEXT NOT NULL DEFAULT '',              -- the step reached
    sentence TEXT NOT NULL DEFAULT '',
    UNIQUE (job, scheduled_for)
) STRICT;

-- What the keeper is told of.
CREATE TABLE troubles (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    at TEXT NOT NULL,
    sentence TEXT NOT NULL,
    told_at TEXT                                -- NULL until a note with it has gone out
) STRICT;
