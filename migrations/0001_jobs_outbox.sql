-- +goose Up
-- One row a planned time of a job. slot is its identity: the wall clock of the
-- shop ("2026-03-09T06:30"), or with a Z the instant of jobs that run in every
-- hour; so a change of clocks can neither skip a slot nor double it.
CREATE TABLE job_slot (
    job         TEXT NOT NULL CHECK (job <> ''),
    slot        TEXT NOT NULL CHECK (slot <> ''),
    due_at      TEXT NOT NULL,
    -- passed: before the job was set up; it was never meant to run
    state       TEXT NOT NULL CHECK (state IN ('running', 'done', 'failed', 'given up', 'passed')),
    attempts    INTEGER NOT NULL DEFAULT 1 CHECK (attempts > 0),
    -- slots before this one that were missed and are covered by it
    missed      INTEGER NOT NULL DEFAULT 0 CHECK (missed >= 0),
    started_at  TEXT NOT NULL,
    finished_at TEXT,
    next_try    TEXT,
    error       TEXT NOT NULL DEFAULT '',
    PRIMARY KEY (job, slot)
) STRICT, WITHOUT ROWID;

-- The final bytes of a message; every try sends these.
CREATE TABLE message (
    id         INTEGER PRIMARY KEY AUTOINCREMENT,
    message_id TEXT NOT NULL UNIQUE CHECK (message_id <> ''),
    kind       TEXT NOT NULL,
    client     TEXT NOT NULL DEFAULT '',
    proposal   INTEGER NOT NULL DEFAULT 0,
    subject    TEXT NOT NULL,
    sender     TEXT NOT NULL CHECK (sender <> ''),
    bytes      BLOB NOT NULL,
    created_at TEXT NOT NULL
) STRICT;

-- One row a recipient, since one refused address would stop a message for all.
CREATE TABLE delivery (
    message    INTEGER NOT NULL REFERENCES message (id),
    recipient  TEXT NOT NULL CHECK (recipient <> ''),
    state      TEXT NOT NULL CHECK (state IN ('waiting', 'accepted', 'refused', 'given up', 'dropped')),
    attempts   INTEGER NOT NULL DEFAULT 0,
    -- 1: a try ended without an answer, so the server may have the message already
    unsure     INTEGER NOT NULL DEFAULT 0 CHECK (unsure IN (0, 1)),
    next_try   TEXT NOT NULL,
    first_try  TEXT,
    last_try   TEXT,
    code       INTEGER NOT NULL DEFAULT 0,
    answer     TEXT NOT NULL DEFAULT '',
    settled_at TEXT,
    PRIMARY KEY (message, recipient)
) STRICT, WITHOUT ROWID;
CREATE INDEX delivery_waiting ON delivery (next_try) WHERE state = 'waiting';

-- How a way out stands as a whole: an unreachable server delays every message,
-- a refused password stops them all until somebody mends it.
CREATE TABLE channel (
    name          TEXT PRIMARY KEY,
    failures      INTEGER NOT NULL DEFAULT 0,
    failing_since TEXT,
    next_try      TEXT,
    stopped_at    TEXT,
    answer        TEXT NOT NULL DEFAULT ''
) STRICT, WITHOUT ROWID;

-- What the owner's next mail must tell. An equal event that has not been told
-- yet is counted, not repeated.
CREATE TABLE event (
    id      INTEGER PRIMARY KEY,
    at      TEXT NOT NULL,
    last_at TEXT NOT NULL,
    times   INTEGER NOT NULL DEFAULT 1,
    kind    TEXT NOT NULL,
    client  TEXT NOT NULL DEFAULT '',
    what    TEXT NOT NULL CHECK (what <> ''),
    mend    TEXT NOT NULL DEFAULT '',
    told_in INTEGER
) STRICT;
CREATE UNIQUE INDEX event_untold ON event (kind, client, what) WHERE told_in IS NULL;

-- +goose Down
DROP TABLE event;
DROP TABLE channel;
DROP TABLE delivery;
DROP TABLE message;
DROP TABLE job_slot;
