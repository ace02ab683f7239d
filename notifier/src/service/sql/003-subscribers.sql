-- People who put themselves on the list. Their address stands in readers and nowhere else; whether
-- they are paused or have left stands there too.
CREATE TABLE subscribers (
    reader       INTEGER PRIMARY KEY REFERENCES readers (id),
    channel      TEXT NOT NULL DEFAULT 'mail' CHECK (channel IN ('mail')),
    choices      TEXT NOT NULL,     -- JSON
    asked_at     INTEGER NOT NULL,  -- when they put themselves down, last
    confirmed_at INTEGER,           -- NULL while they wait for confirmation
    once         TEXT               -- what the confirmation link is good for, once
) STRICT;

-- Mails about a subscription that are still to go out. Their links are made when they do.
CREATE TABLE letters (
    id       INTEGER PRIMARY KEY AUTOINCREMENT,
    reader   INTEGER NOT NULL REFERENCES readers (id),
    kind     TEXT NOT NULL CHECK (kind IN ('confirm', 'known')),
    made_at  INTEGER NOT NULL,
    tries    INTEGER NOT NULL DEFAULT 0,
    due_at   INTEGER NOT NULL,
    sent_at  INTEGER                -- kept for an hour, so that one address gets no more than one
) STRICT;
CREATE INDEX letters_by_reader ON letters (reader);
