-- +goose Up
-- One row a message and recipient: one refused address must not stop the
-- others. raw is what goes over the wire, at every try the same.
CREATE TABLE outbox (
    id         INTEGER PRIMARY KEY,
    message_id TEXT NOT NULL,
    recipient  TEXT NOT NULL CHECK (recipient <> ''),
    sender     TEXT NOT NULL,
    kind       TEXT NOT NULL,
    subject    TEXT NOT NULL,
    round_id   INTEGER REFERENCES round (id),
    proposal   INTEGER REFERENCES proposal (number),
    raw        BLOB NOT NULL,
    state      TEXT NOT NULL DEFAULT 'waiting' CHECK (state IN ('waiting', 'accepted', 'refused')),
    tries      INTEGER NOT NULL DEFAULT 0,
    next_try   TEXT NOT NULL,
    last_error TEXT NOT NULL DEFAULT '',
    created_at TEXT NOT NULL,
    settled_at TEXT,
    UNIQUE (message_id, recipient)
) STRICT;
CREATE INDEX outbox_due ON outbox (next_try) WHERE state = 'waiting';

-- What went wrong, until a round has told the owner.
CREATE TABLE incident (
    id      INTEGER PRIMARY KEY,
    at      TEXT NOT NULL,
    kind    TEXT NOT NULL,
    client  TEXT NOT NULL DEFAULT '',
    what    TEXT NOT NULL,
    do_next TEXT NOT NULL DEFAULT '',
    told_in INTEGER REFERENCES round (id)
) STRICT;
CREATE INDEX incident_open ON incident (id) WHERE told_in IS NULL;

-- +goose Down
DROP TABLE incident;
DROP TABLE outbox;
