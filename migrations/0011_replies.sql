-- +goose Up
-- Each mail that came back, as it came, before anybody judges it.
CREATE TABLE reply (
    id         INTEGER PRIMARY KEY AUTOINCREMENT,
    -- where it was read: a file of the mail folder, a number in a mailbox, a command
    source     TEXT NOT NULL,
    sha256     BLOB NOT NULL UNIQUE CHECK (length(sha256) = 32),
    at         TEXT NOT NULL,
    -- 1: a person of the shop says that it comes from whom it says
    vouched    INTEGER NOT NULL DEFAULT 0 CHECK (vouched IN (0, 1)),
    -- of sender, date, subject and text: the same letter sent again with other headers
    content    BLOB NOT NULL DEFAULT x'',
    -- empty once it is forgotten
    bytes      BLOB NOT NULL,
    -- begun and not ended: a mail over which the program ends is put aside
    tries      INTEGER NOT NULL DEFAULT 0 CHECK (tries >= 0),
    state      TEXT NOT NULL CHECK (state IN ('new', 'done', 'asked', 'quarantined', 'ignored')),
    sender     TEXT NOT NULL DEFAULT '',
    subject    TEXT NOT NULL DEFAULT '',
    client     TEXT NOT NULL DEFAULT '',
    proposal   INTEGER NOT NULL DEFAULT 0,
    -- what came of it, as a sentence
    why        TEXT NOT NULL DEFAULT '',
    judged_at  TEXT
) STRICT;
CREATE INDEX reply_content ON reply (content) WHERE content <> x'';
CREATE INDEX reply_new ON reply (id) WHERE state = 'new';

-- +goose Down
DROP TABLE reply;
