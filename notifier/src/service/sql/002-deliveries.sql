-- Digests as they go out. What was rendered is kept, so that a later try sends the same.
CREATE TABLE digests (
    key       TEXT PRIMARY KEY,
    date      TEXT NOT NULL,        -- that it is about
    subject   TEXT NOT NULL,
    queued_at INTEGER NOT NULL      -- seconds since 1970, as all times here
) STRICT, WITHOUT ROWID;

-- What goes out, once for all recipients who get the same.
CREATE TABLE contents (
    id     INTEGER PRIMARY KEY,
    digest TEXT NOT NULL REFERENCES digests (key),
    form   TEXT NOT NULL,           -- which of the digest's renderings it is
    body   TEXT NOT NULL,           -- JSON
    UNIQUE (digest, form)
) STRICT;

-- What became of people on the list beside what the settings say of them.
CREATE TABLE readers (
    id    INTEGER PRIMARY KEY,
    mail  TEXT NOT NULL UNIQUE,     -- in small letters
    state TEXT NOT NULL DEFAULT 'reads' CHECK (state IN ('reads', 'paused', 'left')),
    since INTEGER,
    why   TEXT
) STRICT;

CREATE TABLE deliveries (
    id        INTEGER PRIMARY KEY,
    digest    TEXT NOT NULL REFERENCES digests (key),
    channel   TEXT NOT NULL CHECK (channel IN ('mail', 'webhook')),
    recipient TEXT NOT NULL,        -- an address in small letters, or the webhook's id
    address   TEXT NOT NULL,        -- as it is written in the settings
    name      TEXT,
    reader    INTEGER REFERENCES readers (id),
    contents  INTEGER REFERENCES contents (id),
    mark      TEXT NOT NULL,        -- what a receiver tells a second copy by
    state     TEXT NOT NULL CHECK (
        state IN ('waiting', 'sending', 'sent', 'refused', 'abandoned', 'paused')
    ),
    session   INTEGER,              -- that sends it
    tries     INTEGER NOT NULL DEFAULT 0,
    tried_at  INTEGER,
    due_at    INTEGER NOT NULL,
    in_doubt  INTEGER NOT NULL DEFAULT 0,  -- times that it may have arrived without our knowing
    answer    TEXT,                 -- the last word on it
    UNIQUE (digest, recipient, channel)
) STRICT;
CREATE INDEX deliveries_under_way ON deliveries (state) WHERE state IN ('waiting', 'sending');
CREATE INDEX deliveries_by_mark ON deliveries (mark);
CREATE INDEX deliveries_by_reader ON deliveries (reader);
