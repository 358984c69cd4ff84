package main

import (
	"io"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/spf13/cobra"
	"github.com/stretchr/testify/require"
)

// helpWidth is the longest line of a command's description, in letters: what a
// terminal of usual width shows without breaking it in the middle.
const helpWidth = 90

func TestHelpFitsATerminal(t *testing.T) {
	seen := 0
	var walk func(c *cobra.Command)
	walk = func(c *cobra.Command) {
		seen++
		for line := range strings.SplitSeq(c.Long, "\n") {
			require.LessOrEqual(t, utf8.RuneCountInString(line), helpWidth, "%s --help: %s", c.CommandPath(), line)
		}
		for _, sub := range c.Commands() {
			walk(sub)
		}
	}
	walk(newRoot(&app{out: io.Discard, err: io.Discard}))
	require.Greater(t, seen, 40)
}

// What measures the program belongs to the laboratory, cmd/kitlab.
func TestTheOwnersCommandsMeasureNothing(t *testing.T) {
	root := newRoot(&app{out: io.Discard, err: io.Discard})
	for _, args := range [][]string{{"study"}, {"sheet", "bench"}} {
		c, rest, err := root.Find(args)
		require.True(t, err != nil || len(rest) > 0, "%v leads to %s", args, c.CommandPath())
	}
}
