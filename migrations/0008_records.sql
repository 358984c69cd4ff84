-- +goose Up
-- A piece handed out beside the old one, which stays in use, is one more; every
-- other that is handed out beyond the kit stands for one that ended.
ALTER TABLE movement ADD COLUMN old_kept INTEGER NOT NULL DEFAULT 0 CHECK (old_kept IN (0, 1));

-- A count that a round has announced to the owner: from which day its forms go
-- out, by when they are to be back, and which people and garments it asks for.
CREATE TABLE count_plan (
    client_id INTEGER NOT NULL REFERENCES client (id),
    announced TEXT NOT NULL CHECK (announced IS date(announced)),
    send_on   TEXT NOT NULL CHECK (send_on IS date(send_on)),
    return_by TEXT NOT NULL CHECK (return_by IS date(return_by)),
    dropped   INTEGER NOT NULL DEFAULT 0 CHECK (dropped IN (0, 1)),
    body      TEXT NOT NULL CHECK (json_valid(body)),
    PRIMARY KEY (client_id, announced)
) STRICT, WITHOUT ROWID;

-- +goose Down
DROP TABLE count_plan;
ALTER TABLE movement DROP COLUMN old_kept;
