-- +goose Up
-- How often the slot was begun since it last came to an end of any kind: what
-- ends the process leaves no other trace.
ALTER TABLE job_slot ADD COLUMN unfinished INTEGER NOT NULL DEFAULT 0 CHECK (unfinished >= 0);

-- Files of the drop folder that were begun and did not come to an end yet.
CREATE TABLE drop_try (
    file     TEXT PRIMARY KEY CHECK (file <> ''),
    size     INTEGER NOT NULL,
    modified TEXT NOT NULL,
    tries    INTEGER NOT NULL CHECK (tries > 0)
) STRICT, WITHOUT ROWID;

-- +goose Down
DROP TABLE drop_try;
ALTER TABLE job_slot DROP COLUMN unfinished;
