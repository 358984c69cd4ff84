-- +goose Up
-- A reason is kept as its place in the program's list, which only grows at its
-- end, so a new one needs no change of the table. A place that a program does not
-- know is refused when it is read; -1 stands for a word that is in no list.
CREATE TABLE movement_now (
    client_id INTEGER NOT NULL REFERENCES client (id),
    seq       INTEGER NOT NULL,
    day       INTEGER NOT NULL,
    kind      INTEGER NOT NULL CHECK (kind BETWEEN 0 AND 2),
    staff_id  TEXT NOT NULL,
    garment   TEXT NOT NULL,
    colour    TEXT NOT NULL,
    size      TEXT NOT NULL,
    pieces    INTEGER NOT NULL CHECK (pieces > 0 OR (pieces = 0 AND kind = 2)),
    reason    INTEGER NOT NULL DEFAULT 0 CHECK (reason >= 0),
    ref       TEXT NOT NULL DEFAULT '',
    washes    REAL NOT NULL DEFAULT 0 CHECK (washes >= 0),
    assumed   INTEGER NOT NULL DEFAULT 0 CHECK (assumed IN (0, 1)),
    proposal  INTEGER NOT NULL DEFAULT 0,
    import_id INTEGER NOT NULL DEFAULT 0,
    old_kept  INTEGER NOT NULL DEFAULT 0 CHECK (old_kept IN (0, 1)),
    PRIMARY KEY (client_id, seq)
) STRICT, WITHOUT ROWID;
INSERT INTO movement_now SELECT client_id, seq, day, kind, staff_id, garment, colour, size, pieces, reason, ref, washes,
    assumed, proposal, import_id, old_kept FROM movement;
DROP TABLE movement;
ALTER TABLE movement_now RENAME TO movement;

-- +goose Down
CREATE TABLE movement_before (
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
    old_kept  INTEGER NOT NULL DEFAULT 0 CHECK (old_kept IN (0, 1)),
    PRIMARY KEY (client_id, seq)
) STRICT, WITHOUT ROWID;
INSERT INTO movement_before SELECT client_id, seq, day, kind, staff_id, garment, colour, size, pieces,
    CASE WHEN reason > 6 THEN 0 ELSE reason END, ref, washes, assumed, proposal, import_id, old_kept FROM movement;
DROP TABLE movement;
ALTER TABLE movement_before RENAME TO movement;
