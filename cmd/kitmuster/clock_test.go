package main

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/daemon/books"
)

// at runs one command line at a moment of the machine's clock.
func at(t *testing.T, now time.Time, home string, args ...string) string {
	t.Helper()
	var out bytes.Buffer
	root := newRoot(&app{in: strings.NewReader(""), out: &out, err: &out, now: func() time.Time { return now }})
	root.SetArgs(append([]string{"--home", home}, args...))
	require.NoError(t, root.ExecuteContext(t.Context()), out.String())
	return out.String()
}

// movedTo puts a zone into a shop.yaml that names none.
func movedTo(t *testing.T, home, zone string) {
	t.Helper()
	path := filepath.Join(home, books.ShopFile)
	text, err := os.ReadFile(path)
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(path, append([]byte("time_zone: "+zone+"\n"), text...), 0o600))
}

// Nine in the morning of the third of March in Auckland is eight in the evening
// of the second by a machine that keeps UTC. The shop's day counts.
func TestTodayIsTheShopsDayWhateverTheMachinesZone(t *testing.T) {
	home := bakeryHome(t)
	movedTo(t, home, "Pacific/Auckland")
	now := time.Date(2026, 3, 2, 20, 0, 0, 0, time.UTC)
	const today = "2026-03-03"

	require.Contains(t, at(t, now, home, "issue", "harbour", "0001", "polo", "--on", today), "on "+today,
		"this morning is not still to come")
	for _, entry := range [][]string{
		{"issue", "harbour", "0001", "polo"}, {"end", "harbour", "0001", "polo", "--reason", "worn"},
		{"count", "harbour", "0001", "polo", "1"},
		{"hire", "harbour", "Kezia Larkfield", "--role", "baker"}, {"leave", "harbour", "0002"},
	} {
		require.Contains(t, at(t, now, home, entry...), today, entry)
	}
	at(t, now, home, "receive", "blank", "polo/navy/M", "20")
	require.Contains(t, at(t, now, home, "stock", "export"), today)
	for _, look := range [][]string{
		{"roster", "list", "harbour", "--json"}, {"muster", "harbour", "--json"}, {"round", "--dry-run", "--json"},
		{"log", "harbour", "0001", "--json"},
	} {
		require.Contains(t, at(t, now, home, look...), `"as_of": "`+today+`"`, look)
	}
	require.Contains(t, at(t, now, home, "check"), "where it is Tue 2026-03-03 09:00")
}
