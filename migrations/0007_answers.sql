-- +goose Up
-- A proposal may be put off and received in parts. The tables that refer to it
-- are built anew with it, so that no reference is ever without its row.
CREATE TABLE proposal_now (
    number    INTEGER PRIMARY KEY AUTOINCREMENT,
    client_id INTEGER NOT NULL REFERENCES client (id),
    round_id  INTEGER NOT NULL REFERENCES round (id),
    as_of     TEXT NOT NULL CHECK (as_of IS date(as_of)),
    state     TEXT NOT NULL CHECK (state IN ('drafted', 'sent', 'put off', 'accepted', 'declined', 'ordered', 'part received', 'received', 'lapsed')),
    order_by  TEXT NOT NULL CHECK (order_by IS date(order_by)),
    body      TEXT NOT NULL CHECK (json_valid(body))
) STRICT;
INSERT INTO proposal_now SELECT number, client_id, round_id, as_of, state, order_by, body FROM proposal;

CREATE TABLE proposal_step_now (
    number     INTEGER NOT NULL REFERENCES proposal_now (number),
    seq        INTEGER NOT NULL,
    at         TEXT NOT NULL,
    from_state TEXT NOT NULL,
    to_state   TEXT NOT NULL,
    note       TEXT NOT NULL DEFAULT '',
    PRIMARY KEY (number, seq)
) STRICT, WITHOUT ROWID;
INSERT INTO proposal_step_now SELECT number, seq, at, from_state, to_state, note FROM proposal_step;

CREATE TABLE sheet_order_proposal_now (
    sheet_order INTEGER NOT NULL REFERENCES sheet_order (id),
    number      INTEGER NOT NULL REFERENCES proposal_now (number),
    PRIMARY KEY (sheet_order, number)
) STRICT, WITHOUT ROWID;
INSERT INTO sheet_order_proposal_now SELECT sheet_order, number FROM sheet_order_proposal;

DROP TABLE proposal_step;
DROP TABLE sheet_order_proposal;
DROP TABLE proposal;
ALTER TABLE proposal_now RENAME TO proposal;
ALTER TABLE proposal_step_now RENAME TO proposal_step;
ALTER TABLE sheet_order_proposal_now RENAME TO sheet_order_proposal;
CREATE INDEX proposal_client ON proposal (client_id, state);

-- Each form of a proposal as it went out to the customer.
CREATE TABLE proposal_form (
    number   INTEGER NOT NULL REFERENCES proposal (number),
    revision INTEGER NOT NULL CHECK (revision > 0),
    as_of    TEXT NOT NULL CHECK (as_of IS date(as_of)),
    body     TEXT NOT NULL CHECK (json_valid(body)),
    PRIMARY KEY (number, revision)
) STRICT, WITHOUT ROWID;
INSERT INTO proposal_form SELECT number, 1, as_of, body FROM proposal;

-- An order to one supplier under its own number.
CREATE TABLE supplier_order (
    number   INTEGER PRIMARY KEY,
    supplier TEXT NOT NULL CHECK (supplier <> ''),
    as_of    TEXT NOT NULL CHECK (as_of IS date(as_of)),
    state    TEXT NOT NULL CHECK (state IN ('written', 'ordered', 'arrived', 'dropped')),
    body     TEXT NOT NULL CHECK (json_valid(body))
) STRICT;

-- What somebody said about clothing that waits for a person's yes.
CREATE TABLE held_answer (
    client_id INTEGER NOT NULL REFERENCES client (id),
    garment   TEXT NOT NULL,
    colour    TEXT NOT NULL,
    size      TEXT NOT NULL,
    answer    TEXT NOT NULL CHECK (answer IN ('yes', 'no')),
    pieces    INTEGER NOT NULL CHECK (pieces >= 0),
    said_on   TEXT NOT NULL CHECK (said_on IS date(said_on)),
    PRIMARY KEY (client_id, garment, colour, size)
) STRICT, WITHOUT ROWID;

CREATE TABLE number_now (
    kind TEXT NOT NULL PRIMARY KEY CHECK (kind IN ('round', 'proposal', 'order')),
    last INTEGER NOT NULL CHECK (last > 0)
) STRICT, WITHOUT ROWID;
INSERT INTO number_now SELECT kind, last FROM number;
DROP TABLE number;
ALTER TABLE number_now RENAME TO number;

-- +goose Down
DELETE FROM number WHERE kind = 'order';
CREATE TABLE number_before (
    kind TEXT NOT NULL PRIMARY KEY CHECK (kind IN ('round', 'proposal')),
    last INTEGER NOT NULL CHECK (last > 0)
) STRICT, WITHOUT ROWID;
INSERT INTO number_before SELECT kind, last FROM number;
DROP TABLE number;
ALTER TABLE number_before RENAME TO number;
DROP TABLE held_answer;
DROP TABLE supplier_order;
DROP TABLE proposal_form;
UPDATE proposal SET state = CASE state WHEN 'put off' THEN 'sent' ELSE 'ordered' END WHERE state IN ('put off', 'part received');
