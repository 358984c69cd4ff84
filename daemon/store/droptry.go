package store

import (
	"context"
	"time"
)

// BeginFile records that a file of the drop folder is about to be read, and
// returns how often it was begun without an end, this time included. A file of
// that name with another size or time is another file.
func (s *Store) BeginFile(ctx context.Context, name string, size int64, modified time.Time) (tries int, err error) {
	err = s.InTx(ctx, func(tx *Tx) error {
		tries, err = valueOf[int](tx.View, "record that a dropped file is begun",
			`INSERT INTO drop_try (file, size, modified, tries) VALUES (?, ?, ?, 1)
			ON CONFLICT (file) DO UPDATE SET size = excluded.size, modified = excluded.modified,
				tries = CASE WHEN size = excluded.size AND modified = excluded.modified THEN tries + 1 ELSE 1 END
			RETURNING tries`, name, size, stamp(modified))
		return err
	})
	return tries, err
}

// EndFile records that the work on a file of the drop folder ended, in
// whichever way.
func (s *Store) EndFile(ctx context.Context, name string) error {
	return s.InTx(ctx, func(tx *Tx) error {
		return tx.do("record that a dropped file is done with", `DELETE FROM drop_try WHERE file = ?`, name)
	})
}
