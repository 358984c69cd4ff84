-- +goose Up
-- How far each mailbox was read: mails have numbers that rise, and that mean something
-- together with the validity alone.
CREATE TABLE mailbox (
    name     TEXT PRIMARY KEY CHECK (name <> ''),
    validity INTEGER NOT NULL CHECK (validity > 0),
    last     INTEGER NOT NULL CHECK (last >= 0)
) STRICT;

-- +goose Down
DROP TABLE mailbox;
