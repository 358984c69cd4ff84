package main

import (
	"bufio"
	"context"
	"io"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/creack/pty"
	"github.com/stretchr/testify/require"
)

// onTerminal runs a command line on a terminal of so many columns and returns the lines of its screen;
// warnings go elsewhere.
func onTerminal(t *testing.T, columns uint16, args ...string) []string {
	t.Helper()
	main, terminal, err := pty.Open()
	require.NoError(t, err)
	defer main.Close()
	require.NoError(t, pty.Setsize(terminal, &pty.Winsize{Rows: 24, Cols: columns}))
	read := make(chan []string)
	go func() {
		var lines []string
		for screen := bufio.NewScanner(main); screen.Scan(); {
			lines = append(lines, strings.TrimRight(screen.Text(), "\r"))
		}
		read <- lines
	}()
	run(context.Background(), args, strings.NewReader(""), terminal, io.Discard)
	require.NoError(t, terminal.Close())
	return <-read
}

func TestSentencesFitTheTerminal(t *testing.T) {
	home := bakeryHome(t)
	mustKit(t, home, "ledger", "import", "harbour", write(t, home, "pieces.csv", pieces), "--as-of", day)
	for _, c := range []struct {
		columns string
		size    uint16
		most    int
	}{{"", 80, 80}, {"", 60, 60}, {"70", 80, 70}, {"", 200, 100}, {"", 0, 80}, {"many", 80, 80}} {
		t.Setenv("COLUMNS", c.columns)
		for _, args := range [][]string{{"check"}, {"exchange", "--help"}, {"help", "changes"},
			{"wear", "harbour", "--as-of", day}} {
			lines := onTerminal(t, c.size, append(args, "--home", home)...)
			require.NotEmpty(t, lines)
			longest := 0
			for _, line := range lines {
				if !strings.Contains(line, "kitmuster ") { // commands to copy stay whole
					longest = max(longest, utf8.RuneCountInString(line))
				}
			}
			require.LessOrEqual(t, longest, c.most, "%q at %d columns:\n%s", args, c.size, strings.Join(lines, "\n"))
			if args[0] == "exchange" {
				require.Greater(t, longest, c.most-12, "paragraphs fill the lines")
			}
		}
	}
}

// What another program reads is the same on a terminal as in a pipe.
func TestListsAndJSONAreNotFolded(t *testing.T) {
	home := bakeryHome(t)
	mustKit(t, home, "ledger", "import", "harbour", write(t, home, "pieces.csv", pieces), "--as-of", day)
	for _, args := range [][]string{{"ledger", "export", "harbour"}, {"roster", "export", "harbour"},
		{"programme", "show", "harbour"}, {"muster", "harbour", "--as-of", day, "--json"}, {"service", "print"}} {
		want := mustKit(t, home, args...)
		require.Equal(t, want, strings.Join(onTerminal(t, 40, append(args, "--home", home)...), "\n")+"\n", "%q", args)
	}
}
