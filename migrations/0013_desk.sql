-- +goose Up
-- Sign-in to the desk: links that are good once, and browsers that are signed in.
CREATE TABLE desk_key (
    -- of the secret, which is kept nowhere
    hash  BLOB PRIMARY KEY CHECK (length(hash) = 32),
    kind  TEXT NOT NULL CHECK (kind IN ('link', 'session')),
    until TEXT NOT NULL
) STRICT;

-- Forms of the desk that were carried out, so that one sent twice is carried out once.
CREATE TABLE desk_form (
    hash  BLOB PRIMARY KEY CHECK (length(hash) = 32),
    at    TEXT NOT NULL,
    -- its number among the entries that undo takes back; 0 = it is none
    entry INTEGER NOT NULL DEFAULT 0,
    -- what its reader was told
    said  TEXT NOT NULL DEFAULT ''
) STRICT;

-- +goose Down
DROP TABLE desk_form;
DROP TABLE desk_key;
