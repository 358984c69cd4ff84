package dropfolder_test

import (
	"context"
	"errors"
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/daemon/dropfolder"
)

type books struct {
	taken []string
	err   error
	while func() // done while a file is taken in
}

func (b *books) Take(_ context.Context, n dropfolder.Name, file string, data []byte) (string, error) {
	if b.while != nil {
		b.while()
	}
	if b.err != nil {
		return "", b.err
	}
	if strings.Contains(string(data), "bad") {
		return "", &dropfolder.Refusal{Err: errors.New("line 2 is bad. Nothing was imported.")}
	}
	b.taken = append(b.taken, string(n.Kind)+" "+n.Client+" "+string(data))
	return "3 joiners", nil
}

type scene struct {
	*dropfolder.Folder
	books *books
	now   time.Time
	told  []string
}

func fresh(t *testing.T) *scene {
	t.Helper()
	s := &scene{books: &books{}, now: time.Date(2026, 3, 9, 6, 30, 0, 0, time.UTC)}
	s.Folder = &dropfolder.Folder{Dir: filepath.Join(t.TempDir(), "drop"), Settle: 10 * time.Second, Taker: s.books,
		Now: func() time.Time { return s.now },
		Tell: func(_ context.Context, o dropfolder.Outcome) error {
			s.told = append(s.told, o.File+": "+o.Report)
			return nil
		}}
	s.scan(t)
	return s
}

func (s *scene) scan(t *testing.T) []dropfolder.Outcome {
	t.Helper()
	all, err := s.Scan(t.Context())
	require.NoError(t, err)
	s.now = s.now.Add(time.Minute)
	return all
}

func (s *scene) put(t *testing.T, name, text string) string {
	t.Helper()
	path := filepath.Join(s.Dir, name)
	require.NoError(t, os.WriteFile(path, []byte(text), 0o600))
	return path
}

func TestAFileIsTakenWhenItHasSettled(t *testing.T) {
	s := fresh(t)
	s.put(t, "Roster--Bakery.csv", "half")
	require.Empty(t, s.scan(t), "first look")
	s.put(t, "Roster--Bakery.csv", "half and half")
	require.Empty(t, s.scan(t), "it grew")
	got := s.scan(t)
	require.Len(t, got, 1)
	require.True(t, got[0].Taken)
	require.Equal(t, []string{"roster bakery half and half"}, s.books.taken)
	require.NoFileExists(t, filepath.Join(s.Dir, "Roster--Bakery.csv"))
	text, err := os.ReadFile(got[0].Moved)
	require.NoError(t, err)
	require.Equal(t, "half and half", string(text))
	report, err := os.ReadFile(got[0].Moved + ".report.txt")
	require.NoError(t, err)
	require.Equal(t, "3 joiners\n", string(report))
	require.Empty(t, s.scan(t))
}

func TestABadFileIsKeptWithItsReasons(t *testing.T) {
	s := fresh(t)
	for _, name := range []string{"ledger--bakery.csv", "holiday.jpg", "roster.csv", "staff--bakery.csv"} {
		s.put(t, name, "bad")
	}
	s.scan(t)
	got := s.scan(t)
	require.Len(t, got, 4)
	for _, o := range got {
		require.False(t, o.Taken)
		require.Equal(t, filepath.Join(s.Dir, dropfolder.RefusedDir), filepath.Dir(o.Moved))
		require.FileExists(t, o.Moved)
		report, err := os.ReadFile(o.Moved + ".report.txt")
		require.NoError(t, err)
		require.Greater(t, len(report), 20)
	}
}

func TestNothingIsOverwritten(t *testing.T) {
	s := fresh(t)
	moved := map[string]bool{}
	for range 3 {
		s.put(t, "stock.csv", "x")
		s.scan(t)
		at := s.now
		got := s.scan(t)
		s.now = at.Add(-time.Minute) // the clock steps back: the next file gets the same time
		require.Len(t, got, 1)
		moved[got[0].Moved] = true
	}
	require.Len(t, moved, 3)
}

func TestWhatIsNotTheFilesFaultLeavesItThere(t *testing.T) {
	s := fresh(t)
	path := s.put(t, "stock.csv", "x")
	s.scan(t)
	s.books.err = errors.New("database is locked")
	_, err := s.Scan(t.Context())
	require.ErrorContains(t, err, "locked")
	require.FileExists(t, path)
	s.books.err = nil
	require.Len(t, s.scan(t), 1)
}

func TestAFileIsTakenInOnceThoughItsReportCannotBeWrittenAtFirst(t *testing.T) {
	s := fresh(t)
	for _, c := range []struct{ dir, name, text, report string }{
		{dropfolder.DoneDir, "stock.csv", "x", "3 joiners\n"}, {dropfolder.RefusedDir, "ledger--bakery.csv", "bad",
			"line 2 is bad. Nothing was imported.\n"},
	} {
		s.told = nil
		s.put(t, c.name, c.text)
		s.scan(t)
		dir := filepath.Join(s.Dir, c.dir)
		require.NoError(t, os.Remove(dir))
		require.NoError(t, os.Symlink("/proc", dir)) // a folder in which nobody can make a file
		for range 3 {
			_, err := s.Scan(t.Context())
			require.Error(t, err)
			s.now = s.now.Add(time.Minute)
		}
		require.FileExists(t, filepath.Join(s.Dir, c.name))
		require.NoError(t, os.Remove(dir))
		got := s.scan(t)
		require.Len(t, got, 1)
		require.Equal(t, []string{c.name + ": " + strings.TrimSpace(c.report)}, s.told,
			"told once, with the first report")
		report, err := os.ReadFile(got[0].Moved + ".report.txt")
		require.NoError(t, err)
		require.Equal(t, c.report, string(report))
	}
	require.Len(t, s.books.taken, 1)
}

func TestAFileWhoseOutcomeCannotBeRecordedStays(t *testing.T) {
	s := fresh(t)
	path := s.put(t, "stock.csv", "x")
	s.scan(t)
	tell := s.Tell
	s.Tell = func(context.Context, dropfolder.Outcome) error { return errors.New("disk full") }
	_, err := s.Scan(t.Context())
	require.ErrorContains(t, err, "disk full")
	require.FileExists(t, path)
	s.Tell = tell
	require.Len(t, s.scan(t), 1)
	require.Equal(t, []string{"stock.csv: 3 joiners"}, s.told)
	require.Len(t, s.books.taken, 1, "not taken in twice")
}

func TestAFileThatChangesWhileItIsTakenInIsTakenInAgain(t *testing.T) {
	for name, change := range map[string]func(path string) error{
		"its program went on writing": func(path string) error {
			f, err := os.OpenFile(path, os.O_APPEND|os.O_WRONLY, 0)
			if err != nil {
				return err
			}
			_, err = f.WriteString(" and the rest")
			return errors.Join(err, f.Close())
		},
		"a newer one took its place": func(path string) error {
			if err := os.WriteFile(path+".part", []byte("half and the rest"), 0o600); err != nil {
				return err
			}
			return os.Rename(path+".part", path)
		},
	} {
		t.Run(name, func(t *testing.T) {
			for _, first := range []string{"half", "half bad"} {
				s := fresh(t)
				path := s.put(t, "roster--bakery.csv", first)
				s.scan(t)
				s.books.while = func() {
					s.books.while = nil
					require.NoError(t, change(path))
				}
				for _, o := range s.scan(t) {
					require.Empty(t, o.Moved)
				}
				require.FileExists(t, path, "it is not done with")
				s.scan(t)
				text, err := os.ReadFile(path)
				require.NoError(t, err, "it has to settle anew")
				got := s.scan(t)
				require.Len(t, got, 1)
				moved, err := os.ReadFile(got[0].Moved)
				require.NoError(t, err)
				require.Equal(t, string(text), string(moved))
			}
		})
	}
}

// A program that stalled for longer than the time to settle writes on into the
// file that was moved: its end was not taken in, which must not go unnoticed.
func TestAFileThatGrowsAfterItWasTakenInIsTold(t *testing.T) {
	s := fresh(t)
	f, err := os.Create(filepath.Join(s.Dir, "roster--bakery.csv"))
	require.NoError(t, err)
	_, err = f.WriteString("half")
	require.NoError(t, err)
	s.scan(t)
	require.Len(t, s.scan(t), 1)
	require.Empty(t, s.scan(t))
	require.Len(t, s.told, 1)
	_, err = f.WriteString(" and the rest")
	require.NoError(t, err)
	require.NoError(t, f.Close())
	got := s.scan(t)
	require.Len(t, got, 1)
	require.True(t, got[0].Grew)
	require.Len(t, s.told, 2)
	require.Empty(t, s.scan(t), "told once")

	s.put(t, "stock.csv", "x")
	s.scan(t)
	moved := s.scan(t)[0].Moved
	s.now = s.now.Add(2 * time.Hour)
	s.scan(t)
	require.NoError(t, os.WriteFile(moved, []byte("somebody's own business by now"), 0o600))
	require.Empty(t, s.scan(t))
}

func TestTheLongestNameThereCanBe(t *testing.T) {
	s := fresh(t)
	for _, name := range []string{"roster--bakery--" + strings.Repeat("é", 117) + ".csv",
		"stock--" + strings.Repeat("x", 244) + ".csv", "." + strings.Repeat("x", 200),
		"x." + strings.Repeat("x", 253)} {
		require.LessOrEqual(t, len(name), 255)
		s.put(t, name, "x")
	}
	s.scan(t)
	got := s.scan(t)
	require.Len(t, got, 3)
	require.Len(t, s.books.taken, 2)
	for _, o := range got {
		require.FileExists(t, o.Moved)
		require.FileExists(t, o.Moved+".report.txt")
	}
	left, err := dropfolder.Waiting(s.Dir)
	require.NoError(t, err)
	require.Empty(t, left)
}

func TestOtherProgramsFilesAndLinksAreLeftAlone(t *testing.T) {
	s := fresh(t)
	secret := filepath.Join(t.TempDir(), "secret")
	require.NoError(t, os.WriteFile(secret, []byte("x"), 0o600))
	require.NoError(t, os.Symlink(secret, filepath.Join(s.Dir, "roster--bakery.csv")))
	for _, name := range []string{".roster--bakery.csv.swp", "roster--bakery.csv.part", "~$counts--bakery.xlsx",
		"stock.csv.crdownload"} {
		s.put(t, name, "x")
	}
	require.NoError(t, os.Mkdir(filepath.Join(s.Dir, "lists of March"), 0o700))
	require.NoError(t, syscall.Mkfifo(filepath.Join(s.Dir, "stock.csv"), 0o600))
	require.Len(t, s.scan(t), 3)
	require.Empty(t, s.scan(t), "told once")
	require.Empty(t, s.books.taken)
	const why = ": It is a link, a pipe or a folder, and only plain files are taken in."
	require.Equal(t, []string{"lists of March" + why, "roster--bakery.csv" + why, "stock.csv" + why}, s.told)
	waiting, err := dropfolder.Waiting(s.Dir)
	require.NoError(t, err)
	require.Empty(t, waiting)
}

// tries are counted outside of the process.
type tries map[string]int

func (n tries) BeginFile(_ context.Context, name string, size int64, _ time.Time) (int, error) {
	n[fmt.Sprint(name, size)]++
	return n[fmt.Sprint(name, size)], nil
}

func (n tries) EndFile(_ context.Context, name string) error {
	maps.DeleteFunc(n, func(key string, _ int) bool { return strings.HasPrefix(key, name) })
	return nil
}

func TestAFileThatEndsTheProcessThreeTimesIsRefused(t *testing.T) {
	s := fresh(t)
	counted := tries{}
	path := s.put(t, "roster--bakery.csv", "deadly")
	die := func(again bool) {
		// the next process
		s.Folder = &dropfolder.Folder{Dir: s.Dir, Settle: s.Settle, Taker: s.books, Now: s.Now, Tell: s.Tell,
			Tries: counted}
		s.books.while = func() { panic("the process ends here") }
		s.scan(t)
		if again {
			require.Panics(t, func() { s.scan(t) })
			require.FileExists(t, path)
		}
	}
	for range 2 {
		die(true)
	}
	s.put(t, "roster--bakery.csv", "another deadly one") // a new file of that name starts anew
	for range 3 {
		die(true)
	}
	s.put(t, "stock.csv", "x")
	die(false)
	s.books.while = nil
	got := s.scan(t)
	require.Len(t, got, 2)
	require.False(t, got[0].Taken)
	require.Equal(t, []string{"roster--bakery.csv: The program ended 3 times in the middle of reading this file, so it is not read again. Nothing was imported. Save the list anew as CSV, and split it if it is large.",
		"stock.csv: 3 joiners"}, s.told)
	require.Empty(t, counted)
}

func TestNames(t *testing.T) {
	for name, want := range map[string]dropfolder.Name{
		"roster--bakery.csv":              {Kind: dropfolder.Roster, Client: "bakery"},
		"ROSTER--Bakery--2026-03.XLSX":    {Kind: dropfolder.Roster, Client: "bakery"},
		"roster--bakery--full--march.csv": {Kind: dropfolder.Roster, Client: "bakery", Full: true},
		"counts--hotel-north.xlsx":        {Kind: dropfolder.Counts, Client: "hotel-north"},
		"ledger--bakery.tsv":              {Kind: dropfolder.Ledger, Client: "bakery"},
		"stock.csv":                       {Kind: dropfolder.Stock},
		"stock--after the count.csv":      {Kind: dropfolder.Stock},
	} {
		got, err := dropfolder.ParseName(name)
		require.NoError(t, err, name)
		require.Equal(t, want, got, name)
	}
	for _, name := range []string{"", ".csv", "roster.csv", "roster--.csv", "roster-bakery.csv", "roster--bakery.pdf",
		"roster--..\\x.csv", "roster--a\nb.csv"} {
		_, err := dropfolder.ParseName(name)
		require.Error(t, err, name)
	}
}

func FuzzParseName(f *testing.F) {
	for _, s := range []string{"roster--bakery.csv", "stock.csv", "roster--bakery--full.xlsx", "--", "roster--\x00.csv",
		"counts--é.csv", "roster--\u202e.csv", "ROSTER--İ.CSV"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, name string) {
		n, err := dropfolder.ParseName(name)
		if err != nil {
			require.NotContains(t, err.Error(), "\n")
			return
		}
		if n.Kind != dropfolder.Stock {
			require.NotEmpty(t, n.Client)
			require.NotContains(t, n.Client, "/")
			again, err := dropfolder.ParseName(string(n.Kind) + "--" + n.Client + ".csv")
			require.NoError(t, err)
			require.Equal(t, n.Client, again.Client)
		}
	})
}
