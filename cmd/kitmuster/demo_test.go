package main

import (
	"bytes"
	"context"
	"crypto/sha256"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/notify/vector"
	"github.com/kitmuster/kitmuster/programme/simulate"
)

func demoInto(t *testing.T, dir string) (status int, stdout, stderr string) {
	t.Helper()
	var out, err bytes.Buffer
	status = run(context.Background(), []string{"demo", "--into", dir}, strings.NewReader(""), &out, &err)
	return status, out.String(), err.String()
}

// made is the demo's shop that the tests of this package share, and what the demo said.
var made = sync.OnceValue(func() (m struct{ dir, out, err string }) {
	parent, err := os.MkdirTemp("", "demo")
	if err != nil {
		m.err = err.Error()
		return m
	}
	demoFolder = parent
	m.dir = filepath.Join(parent, "shop")
	var out, errs bytes.Buffer
	run(context.Background(), []string{"demo", "--into", m.dir}, strings.NewReader(""), &out, &errs)
	m.out, m.err = out.String(), errs.String()
	return m
})

// demoFolder is what TestMain removes in the end; empty where no test asked for the demo.
var demoFolder string

// demoShop returns a copy of the demo's shop, which is made once, the folder from which
// it was copied, and what the demo said of that.
func demoShop(t *testing.T) (dir, from, out string) {
	t.Helper()
	m := made()
	require.Empty(t, m.err)
	dir = filepath.Join(t.TempDir(), "shop")
	require.NoError(t, os.CopyFS(dir, os.DirFS(m.dir)))
	return dir, m.dir, m.out
}

// Two runs of the demo leave the same files, to the byte; of mails the
// boundaries between parts are drawn anew, and the database holds the time.
func TestDemoMakesTheSameShopEveryTime(t *testing.T) {
	_, a, out := demoShop(t)
	b := filepath.Join(t.TempDir(), "shop")
	for _, name := range []string{"shop.yaml", "stock.csv", "kitmuster.db", "programmes/aldermere.yaml",
		"rosters/aldermere.csv", "ledgers/aldermere.csv"} {
		require.FileExists(t, filepath.Join(a, filepath.FromSlash(name)))
	}
	pages := 0
	for line := range strings.SplitSeq(out, "\n") {
		if path := strings.TrimSpace(line); strings.HasSuffix(path, ".html") {
			require.FileExists(t, path, "the summary names a page that is not there")
			pages++
		}
	}
	require.GreaterOrEqual(t, pages, 2, "the summary says which files to open:\n%s", out)
	require.Contains(t, out, "3 of 7 clients are due")
	require.Equal(t, 1, strings.Count(out, "already late"), "a shop that keeps up has one client late")
	require.Equal(t, 1, strings.Count(out, "early: saves"), "and one ordered early")
	require.Equal(t, 4, strings.Count(out, "probably "), "and four that can wait")
	mail, err := os.ReadFile(filepath.Join(a, "mail", "000001-round-2026-03-02-1--odalys_gannetlane.example.html"))
	require.NoError(t, err)
	require.Contains(t, string(mail), "joining now saves")

	status, again, stderr := demoInto(t, b)
	require.Zero(t, status, stderr)
	require.Equal(t, strings.ReplaceAll(out, a, "DIR"), strings.ReplaceAll(again, b, "DIR"))
	first := hashes(t, a)
	require.Greater(t, len(first), 20)
	require.Equal(t, first, hashes(t, b))
}

// The demo's pictures have the shape of their artworks and nothing that a proof
// could not draw.
func TestTheDemosPicturesAreDrawnAsTheyAre(t *testing.T) {
	w := simulate.NewWorld(demoDay, simulate.Seed(simulate.DemoSeed))
	require.NotEmpty(t, w.Shop.Artworks)
	for _, a := range w.Shop.Artworks {
		svg, err := demoArtwork.ReadFile(artworkDir + "/" + a.Code + ".svg")
		require.NoError(t, err)
		picture, err := vector.Read(svg)
		require.NoError(t, err, a.Code)
		require.InEpsilon(t, a.Width.Millimetres()/a.Height.Millimetres(), picture.Width/picture.Height, 0.001, a.Code)
	}
}

// The commands that the demo's summary names do what it says of them.
func TestReplayOnTheDemo(t *testing.T) {
	dir, _, _ := demoShop(t)
	var muster, note bytes.Buffer
	require.Zero(t, run(context.Background(), []string{"--home", dir, "muster", "larkspindle", "--as-of", "2026-03-02"},
		strings.NewReader(""), &muster, &note))
	require.Empty(t, note.String())
	require.Zero(t, run(context.Background(), []string{"--home", dir, "muster", "larkspindle", "--as-of", "2026-06-01"},
		strings.NewReader(""), &muster, &note))
	require.Contains(t, note.String(),
		"the last entry for Larkspindle School Kitchen is of Mar 2, 2026, 13 weeks before Jun 1, 2026",
		"silence makes pieces look as if they lasted")

	ask := func(args ...string) (int, string, string) {
		var out, err bytes.Buffer
		status := run(context.Background(), append([]string{"--home", dir, "replay"}, args...),
			strings.NewReader(""), &out, &err)
		return status, out.String(), err.String()
	}
	picture := filepath.Join(t.TempDir(), "replay.png")
	status, out, stderr := ask("larkspindle", "--every", "13", "--picture", picture)
	require.Zero(t, status, stderr)
	for _, way := range []string{"forecast", "calendar, every", "last year", "12-week mean"} {
		require.Contains(t, out, way)
	}
	data, err := os.ReadFile(picture)
	require.NoError(t, err)
	require.True(t, bytes.HasPrefix(data, []byte("\x89PNG")))

	status, out, stderr = ask("larkspindle", "--from", "2026-02-20", "--json")
	require.Zero(t, status, stderr)
	require.Contains(t, out, `"format": 1`)

	status, _, stderr = ask("larkspndle")
	require.Equal(t, exitWork, status)
	require.Contains(t, stderr, "larkspindle", "the clients there are")

	status, _, stderr = ask("--picture", picture)
	require.Equal(t, exitUsage, status)
	require.Contains(t, stderr, "name it")

	status, _, _ = ask("larkspindle", "--weeks", "0")
	require.Equal(t, exitUsage, status)
}

func hashes(t *testing.T, dir string) map[string][32]byte {
	t.Helper()
	sums := map[string][32]byte{}
	require.NoError(t, filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || strings.Contains(d.Name(), ".db") || strings.HasSuffix(path, ".eml") {
			return err
		}
		data, err := os.ReadFile(path)
		name, _ := filepath.Rel(dir, path)
		sums[name] = sha256.Sum256(data)
		return err
	}))
	return sums
}

func TestDemoLeavesAFolderWithFilesAlone(t *testing.T) {
	dir := t.TempDir()
	require.NoError(t, os.WriteFile(filepath.Join(dir, "mine.txt"), []byte("precious"), 0o600))
	status, out, stderr := demoInto(t, dir)
	require.Equal(t, exitWork, status)
	require.Empty(t, out)
	require.Contains(t, stderr, "not empty")
	require.Contains(t, stderr, "mine.txt")
	require.Contains(t, stderr, "--into")
	entries, err := os.ReadDir(dir)
	require.NoError(t, err)
	require.Len(t, entries, 1)
}
