-- +goose Up
-- The text of each applied programme is kept as the owner wrote it; everything
-- else about a client is read from it.
CREATE TABLE client (
    id         INTEGER PRIMARY KEY,
    code       TEXT NOT NULL UNIQUE CHECK (code <> ''),
    programme  TEXT NOT NULL,
    applied_at TEXT NOT NULL
) STRICT;

CREATE TABLE person (
    client_id INTEGER NOT NULL REFERENCES client (id),
    staff_id  TEXT NOT NULL CHECK (staff_id <> ''),
    name      TEXT NOT NULL,
    role      TEXT NOT NULL,
    site      TEXT NOT NULL,
    started   TEXT NOT NULL CHECK (started IS date(started)),
    ended     TEXT CHECK (ended IS date(ended)),
    sizes     TEXT NOT NULL CHECK (json_valid(sizes)),
    forgotten INTEGER NOT NULL DEFAULT 0 CHECK (forgotten IN (0, 1)),
    PRIMARY KEY (client_id, staff_id)
) STRICT, WITHOUT ROWID;

-- One row a movement, clustered by client, in the order of arrival (seq). A
-- million rows are read at every round, and whole numbers are read in a third
-- of the time of texts and checked in a tenth, so day counts days since
-- 1970-01-01, kind is 0 issued, 1 ended, 2 counted, and reason is 0 none,
-- 1 worn, 2 print, 3 damaged, 4 lost, 5 size, 6 left.
CREATE TABLE movement (
    client_id INTEGER NOT NULL REFERENCES client (id),
    seq       INTEGER NOT NULL,
    day       INTEGER NOT NULL,
    kind      INTEGER NOT NULL CHECK (kind BETWEEN 0 AND 2),
    staff_id  TEXT NOT NULL,
    garment   TEXT NOT NULL,
    colour    TEXT NOT NULL,
    size      TEXT NOT NULL,
    pieces    INTEGER NOT NULL CHECK (pieces > 0 OR (pieces = 0 AND kind = 2)),
    reason    INTEGER NOT NULL DEFAULT 0 CHECK (reason BETWEEN 0 AND 6),
    ref       TEXT NOT NULL DEFAULT '',
    washes    REAL NOT NULL DEFAULT 0 CHECK (washes >= 0),
    assumed   INTEGER NOT NULL DEFAULT 0 CHECK (assumed IN (0, 1)),
    proposal  INTEGER NOT NULL DEFAULT 0,
    import_id INTEGER NOT NULL DEFAULT 0,
    PRIMARY KEY (client_id, seq)
) STRICT, WITHOUT ROWID;

-- What was handed over, when, and what came of it.
CREATE TABLE import (
    id        INTEGER PRIMARY KEY,
    at        TEXT NOT NULL,
    kind      TEXT NOT NULL CHECK (kind IN ('roster', 'ledger', 'stock', 'record')),
    client_id INTEGER REFERENCES client (id),
    file      TEXT NOT NULL,
    rows_new  INTEGER NOT NULL,
    rows_same INTEGER NOT NULL,
    note      TEXT NOT NULL DEFAULT ''
) STRICT;

CREATE TABLE stock (
    kind      TEXT NOT NULL CHECK (kind IN ('blank', 'finished', 'transfer')),
    client    TEXT NOT NULL DEFAULT '',
    code      TEXT NOT NULL,
    colour    TEXT NOT NULL DEFAULT '',
    size      TEXT NOT NULL DEFAULT '',
    expected  TEXT NOT NULL DEFAULT '' CHECK (expected = '' OR expected IS date(expected)),
    made      TEXT NOT NULL DEFAULT '' CHECK (made = '' OR made IS date(made)),
    as_of     TEXT NOT NULL CHECK (as_of IS date(as_of)),
    pieces    INTEGER NOT NULL CHECK (pieces >= 0),
    PRIMARY KEY (kind, client, code, colour, size, expected, made)
) STRICT, WITHOUT ROWID;

CREATE TABLE round (
    id      INTEGER PRIMARY KEY,
    as_of   TEXT NOT NULL CHECK (as_of IS date(as_of)),
    at      TEXT NOT NULL,
    slot    TEXT NOT NULL DEFAULT '',
    summary TEXT NOT NULL CHECK (json_valid(summary))
) STRICT;
CREATE UNIQUE INDEX round_slot ON round (slot) WHERE slot <> '';

CREATE TABLE proposal (
    number   INTEGER PRIMARY KEY AUTOINCREMENT,
    client_id INTEGER NOT NULL REFERENCES client (id),
    round_id INTEGER NOT NULL REFERENCES round (id),
    as_of    TEXT NOT NULL CHECK (as_of IS date(as_of)),
    state    TEXT NOT NULL CHECK (state IN ('drafted', 'sent', 'accepted', 'declined', 'ordered', 'received', 'lapsed')),
    order_by TEXT NOT NULL CHECK (order_by IS date(order_by)),
    body     TEXT NOT NULL CHECK (json_valid(body))
) STRICT;
CREATE INDEX proposal_client ON proposal (client_id, state);

CREATE TABLE proposal_step (
    number     INTEGER NOT NULL REFERENCES proposal (number),
    seq        INTEGER NOT NULL,
    at         TEXT NOT NULL,
    from_state TEXT NOT NULL,
    to_state   TEXT NOT NULL,
    note       TEXT NOT NULL DEFAULT '',
    PRIMARY KEY (number, seq)
) STRICT, WITHOUT ROWID;

-- Transfer sheets of a round, ordered and received as one.
CREATE TABLE sheet_order (
    id       INTEGER PRIMARY KEY,
    round_id INTEGER NOT NULL REFERENCES round (id),
    kind     TEXT NOT NULL,
    state    TEXT NOT NULL CHECK (state IN ('planned', 'ordered', 'received', 'dropped')),
    plan     TEXT NOT NULL CHECK (json_valid(plan))
) STRICT;

CREATE TABLE sheet_order_proposal (
    sheet_order INTEGER NOT NULL REFERENCES sheet_order (id),
    number      INTEGER NOT NULL REFERENCES proposal (number),
    PRIMARY KEY (sheet_order, number)
) STRICT, WITHOUT ROWID;

CREATE TABLE count_form (
    client_id INTEGER NOT NULL REFERENCES client (id),
    sent_on   TEXT NOT NULL CHECK (sent_on IS date(sent_on)),
    PRIMARY KEY (client_id, sent_on)
) STRICT, WITHOUT ROWID;

-- +goose Down
DROP TABLE count_form;
DROP TABLE sheet_order_proposal;
DROP TABLE sheet_order;
DROP TABLE proposal_step;
DROP TABLE proposal;
DROP TABLE round;
DROP TABLE stock;
DROP TABLE import;
DROP TABLE movement;
DROP TABLE person;
DROP TABLE client;
