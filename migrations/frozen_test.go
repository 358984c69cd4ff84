package migrations_test

import (
	"crypto/sha256"
	"encoding/hex"
	"io/fs"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/migrations"
)

// landed are the checksums of the files that databases in use were made with.
// A change of mind is a new file with a new line here.
var landed = map[string]string{
	"0001_jobs_outbox.sql": "8c76694ea685d621e3a513925ec5c2356f382b5895ee82eec498773949133505",
	"0002_domain.sql":      "b1e0ca76a2d8874cbae3f647af13ae4e0242862b53b3c2f49d737d929792a764",
	"0003_job.sql":         "779e7bc0eb724e32978642b174c5d94e377f8044da297bdb0c57ca272b4d6b5b",
	"0004_post.sql":        "0143c666469ae96d35b42575cdbce287da258666ada0d2d80f9ac1c6a0570d32",
	"0005_tries.sql":       "8abfdb820386023d1b9fb0d49544e3b43b42dd20a7faba650fcc900cf28e09e4",
	"0006_forget.sql":      "6d6551b02dbe64ae4f9a2d2855d43bb59de10e7940140d4a9fd68f29c31f6665",
	"0007_answers.sql":     "dae577bb1b5e2c05113f6da87bde71949388dc1bfc3b42432ab297eecb6133a2",
	"0008_records.sql":     "55be3cd524aa36ac596227fe9c3599d2f2d7dc2191740089425db97cc50ab1b1",
	"0009_people.sql":      "f2da0e1690253e49dd97aba9e788eb6ef516df3b6435b5cdec628023dd2c25f5",
	"0010_reasons.sql":     "736b525a1aedd4b99dfea8fe5a4c0a1c0925af3139be223cd1710cff052bc820",
	"0012_print_name.sql":  "3965e46b6b7ac1225b98b790b279450f72a6b4bc58c863adabeeb6b8809fbccd",
	"0011_replies.sql":     "c6d4859a31e2fe07dbb1db30195f17dfb4fc34e7fb288bf3433b1987dfad3883",
	"0013_desk.sql":        "d9781b0846d58916257a7e9beecaf150ee1187c97a93f763017d350836ad45f8",
	"0014_mailbox.sql":     "e15a3399d1e82bdf40e14041158f7b9c0f7e799cc9435bc233dccb1f837eaad5",
}

func TestLandedMigrationsAreNeverChanged(t *testing.T) {
	files, err := fs.Glob(migrations.FS, "*.sql")
	require.NoError(t, err)
	require.Len(t, files, len(landed), "a new migration needs its line in landed")
	for _, name := range files {
		text, err := fs.ReadFile(migrations.FS, name)
		require.NoError(t, err)
		sum := sha256.Sum256(text)
		require.Equal(t, landed[name], hex.EncodeToString(sum[:]),
			"%s was changed after it landed; add a new file instead", name)
	}
}
