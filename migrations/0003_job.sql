-- +goose Up
-- The schedule that each job had last, with its time zone. Times of another
-- one that lie before the change were never planned, and are not caught up on.
CREATE TABLE job (
    name     TEXT NOT NULL PRIMARY KEY CHECK (name <> ''),
    schedule TEXT NOT NULL CHECK (schedule <> '')
) STRICT, WITHOUT ROWID;

-- +goose Down
DROP TABLE job;
