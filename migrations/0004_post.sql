-- +goose Up
-- The readable part of a letter's Message-ID; it names the letter's file where
-- it goes to a folder. Empty in letters from before: it is read from their
-- Message-ID.
ALTER TABLE message ADD COLUMN name TEXT NOT NULL DEFAULT '';

CREATE TABLE delivery_now (
    message    INTEGER NOT NULL REFERENCES message (id),
    recipient  TEXT NOT NULL CHECK (recipient <> ''),
    -- post: by mail server or mail folder; draft: a file that a person sends by
    -- hand; paper: a file that was too large for its mail
    way        TEXT NOT NULL CHECK (way IN ('post', 'draft', 'paper')),
    -- held: may have arrived, and waits for a person
    state      TEXT NOT NULL CHECK (state IN ('waiting', 'accepted', 'refused', 'given up', 'held', 'dropped')),
    attempts   INTEGER NOT NULL DEFAULT 0,
    -- tries that ended without an answer, so that the server may have the message already
    unsure     INTEGER NOT NULL DEFAULT 0 CHECK (unsure >= 0),
    next_try   TEXT NOT NULL,
    first_try  TEXT,
    last_try   TEXT,
    code       INTEGER NOT NULL DEFAULT 0,
    answer     TEXT NOT NULL DEFAULT '',
    settled_at TEXT,
    PRIMARY KEY (message, recipient)
) STRICT, WITHOUT ROWID;
INSERT INTO delivery_now (message, recipient, way, state, attempts, unsure, next_try, first_try, last_try, code, answer, settled_at)
    SELECT message, recipient, 'post', state, attempts, unsure, next_try, first_try, last_try, code, answer, settled_at FROM delivery;
DROP TABLE delivery;
ALTER TABLE delivery_now RENAME TO delivery;
CREATE INDEX delivery_waiting ON delivery (way, next_try) WHERE state = 'waiting';
CREATE INDEX delivery_tried ON delivery (way, last_try);

-- The greatest number of each kind that was given out. A number is reserved
-- before it is used and never given out again.
CREATE TABLE number (
    kind TEXT NOT NULL PRIMARY KEY CHECK (kind IN ('round', 'proposal')),
    last INTEGER NOT NULL CHECK (last > 0)
) STRICT, WITHOUT ROWID;

-- +goose Down
DROP TABLE number;
CREATE TABLE delivery_before (
    message    INTEGER NOT NULL REFERENCES message (id),
    recipient  TEXT NOT NULL CHECK (recipient <> ''),
    state      TEXT NOT NULL CHECK (state IN ('waiting', 'accepted', 'refused', 'given up', 'dropped')),
    attempts   INTEGER NOT NULL DEFAULT 0,
    unsure     INTEGER NOT NULL DEFAULT 0 CHECK (unsure IN (0, 1)),
    next_try   TEXT NOT NULL,
    first_try  TEXT,
    last_try   TEXT,
    code       INTEGER NOT NULL DEFAULT 0,
    answer     TEXT NOT NULL DEFAULT '',
    settled_at TEXT,
    PRIMARY KEY (message, recipient)
) STRICT, WITHOUT ROWID;
INSERT INTO delivery_before (message, recipient, state, attempts, unsure, next_try, first_try, last_try, code, answer, settled_at)
    SELECT message, recipient, CASE state WHEN 'held' THEN 'given up' ELSE state END, attempts, min(unsure, 1), next_try, first_try, last_try, code, answer, settled_at
    FROM delivery WHERE way = 'post';
DROP TABLE delivery;
ALTER TABLE delivery_before RENAME TO delivery;
CREATE INDEX delivery_waiting ON delivery (next_try) WHERE state = 'waiting';
ALTER TABLE message DROP COLUMN name;
