// Package migrations holds the numbered changes of the database's tables. A
// landed file is never changed; a change of mind is a new file.
package migrations

import "embed"

// FS holds the files.
//
//go:embed *.sql
var FS embed.FS
