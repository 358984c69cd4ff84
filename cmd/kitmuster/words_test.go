package main

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// Words that a command does not take are wrong use, in every command alike, and end with its status.
func TestWordsThatACommandDoesNotTakeAreWrongUse(t *testing.T) {
	for line, want := range map[string]string{
		"frobnicate":                 "there is no command 'kitmuster frobnicate'; see 'kitmuster --help'",
		"mail frobnicate":            "there is no command 'kitmuster mail frobnicate'; see 'kitmuster mail --help'",
		"status now":                 `'kitmuster status' does not know what to do with "now"`,
		"log":                        "'kitmuster log' also wants CLIENT",
		"log bakery Ada Brackenholt": `'kitmuster log' does not know what to do with "Brackenholt"`,
		"held bakery now":            `'kitmuster held' does not know what to do with "now"`,
		"programme draft a.yaml b":   `'kitmuster programme draft' does not know what to do with "b"`,
		"starter bakery":             "'kitmuster starter' also wants NAME",
		"proposal remake":            "'kitmuster proposal remake' also wants NUMBER",
		"proposal remake 12":         "'kitmuster proposal remake' also wants LINE=PIECES",
	} {
		var out, errs strings.Builder
		require.Equal(t, exitUsage, run(t.Context(), append([]string{"--home", t.TempDir()}, strings.Fields(line)...),
			strings.NewReader(""), &out, &errs), line)
		require.Contains(t, errs.String(), want)
		require.Empty(t, out.String())
	}
}
