-- +goose Up
-- The name on a person's garments where it is not taken from the person's name.
ALTER TABLE person ADD COLUMN print_name TEXT NOT NULL DEFAULT '';

-- +goose Down
ALTER TABLE person DROP COLUMN print_name;
