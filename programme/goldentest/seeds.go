package goldentest

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"
)

// Seeds gives a fuzzer the content of each file that matches a pattern, read
// from the test's folder, as something to start from. A pattern without a file
// fails the fuzzer, so that a moved folder is noticed.
func Seeds(f *testing.F, patterns ...string) {
	f.Helper()
	for _, pattern := range patterns {
		files, err := filepath.Glob(filepath.FromSlash(pattern))
		require.NoError(f, err)
		require.NotEmpty(f, files, pattern)
		for _, path := range files {
			text, err := os.ReadFile(path)
			require.NoError(f, err)
			f.Add(text)
		}
	}
}
