-- +goose Up
-- Sizes that a person changed from, by size family, and times in which the
-- person wears less than usual or is away.
ALTER TABLE person ADD COLUMN outgrown TEXT NOT NULL DEFAULT '{}' CHECK (json_valid(outgrown));
ALTER TABLE person ADD COLUMN spells TEXT NOT NULL DEFAULT '[]' CHECK (json_valid(spells));

-- Finished pieces that somebody wore before lie beside new ones.
CREATE TABLE stock_now (
    kind      TEXT NOT NULL CHECK (kind IN ('blank', 'finished', 'transfer')),
    client    TEXT NOT NULL DEFAULT '',
    code      TEXT NOT NULL,
    colour    TEXT NOT NULL DEFAULT '',
    size      TEXT NOT NULL DEFAULT '',
    expected  TEXT NOT NULL DEFAULT '' CHECK (expected = '' OR expected IS date(expected)),
    made      TEXT NOT NULL DEFAULT '' CHECK (made = '' OR made IS date(made)),
    washes    INTEGER NOT NULL DEFAULT 0 CHECK (washes = 0 OR (washes > 0 AND kind = 'finished' AND expected = '')),
    as_of     TEXT NOT NULL CHECK (as_of IS date(as_of)),
    pieces    INTEGER NOT NULL CHECK (pieces >= 0),
    PRIMARY KEY (kind, client, code, colour, size, expected, made, washes)
) STRICT, WITHOUT ROWID;
INSERT INTO stock_now (kind, client, code, colour, size, expected, made, as_of, pieces)
    SELECT kind, client, code, colour, size, expected, made, as_of, pieces FROM stock;
DROP TABLE stock;
ALTER TABLE stock_now RENAME TO stock;

-- +goose Down
CREATE TABLE stock_before (
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
INSERT INTO stock_before SELECT kind, client, code, colour, size, expected, made, max(as_of), sum(pieces) FROM stock
    GROUP BY kind, client, code, colour, size, expected, made;
DROP TABLE stock;
ALTER TABLE stock_before RENAME TO stock;
ALTER TABLE person DROP COLUMN spells;
ALTER TABLE person DROP COLUMN outgrown;
