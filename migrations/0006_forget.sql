-- +goose Up
-- When somebody's last day was entered. What was written before that may name
-- them, however long ago the last day itself was. Of those who have left
-- already it is not known, so it counts as entered now.
ALTER TABLE person ADD COLUMN end_entered_at TEXT;
UPDATE person SET end_entered_at = strftime('%Y-%m-%dT%H:%M:%fZ', 'now') WHERE ended IS NOT NULL;

-- +goose Down
ALTER TABLE person DROP COLUMN end_entered_at;
