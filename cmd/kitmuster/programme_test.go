package main

import (
	"context"
	"encoding/json"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/setup"
	"github.com/kitmuster/kitmuster/programme/simulate"
)

// shopWithFiles is a folder with shop.yaml and the invented programmes as
// files, none applied.
func shopWithFiles(t testing.TB) string {
	t.Helper()
	home := t.TempDir()
	w := simulate.NewWorld(programme.NewDate(2026, 3, 2), simulate.Seed(1))
	require.NoError(t, os.WriteFile(filepath.Join(home, books.ShopFile), setup.WriteShop(&w.Shop), 0o600))
	require.NoError(t, os.Mkdir(filepath.Join(home, books.ProgrammesDir), 0o700))
	for i := range w.Cases {
		c := &w.Cases[i].Client
		require.NoError(t, os.WriteFile(programmeFile(home, c.Code), setup.WriteClient(c), 0o600))
	}
	return home
}

func programmeFile(home, code string) string {
	return filepath.Join(home, books.ProgrammesDir, code+".yaml")
}

func replaceIn(t testing.TB, file, old, next string) {
	t.Helper()
	text, err := os.ReadFile(file)
	require.NoError(t, err)
	require.Contains(t, string(text), old)
	require.NoError(t, os.WriteFile(file, []byte(strings.Replace(string(text), old, next, 1)), 0o600))
}

func TestApplyingShowsWhatChangesAndIsDoneOnce(t *testing.T) {
	home := shopWithFiles(t)
	status, out, errs := kit(t, home, "programme", "apply", "--dry-run")
	require.Zero(t, status, errs)
	require.Contains(t, out, "new client pomarrow")
	_, out, _ = kit(t, home, "programme", "list")
	require.Contains(t, out, "No programme is applied yet")

	status, out, errs = kit(t, home, "programme", "apply")
	require.Zero(t, status, errs)
	require.Contains(t, out, "Applied: aldermere, larkspindle, pomarrow, quillbank, saltmarrow, thistledown, wrenmoor.")
	_, out, _ = kit(t, home, "programme", "apply")
	require.Equal(t, 7, strings.Count(out, ": no change\n"), out)

	replaceIn(t, programmeFile(home, "pomarrow"), "count_every_weeks: 13", "cover_weeks: 6\ncount_every_weeks: 13")
	_, out, _ = kit(t, home, "programme", "apply", programmeFile(home, "pomarrow"))
	require.Equal(t, "pomarrow:\n  cover weeks: 0 → 6\nApplied: pomarrow.\n", out)
	_, out, _ = kit(t, home, "programme", "show", "pomarrow")
	require.Contains(t, out, "cover_weeks: 6")

	replaceIn(t, programmeFile(home, "pomarrow"), "regime: ", "softener: yes\n  regime: ")
	_, out, _ = kit(t, home, "programme", "apply", programmeFile(home, "pomarrow"))
	require.Contains(t, out, "mind: what was worn so far counts as washed in the new way, too")
	require.Regexp(t, `as before: before: \[\{until: [0-9-]{10}, regime: home-hot\}\]\n`, out)
	replaceIn(t, programmeFile(home, "pomarrow"), "softener: yes\n  regime: home-hot",
		"regime: industrial\n  before: [{until: 2026-09-30, regime: home-hot, softener: yes}]")
	_, out, errs = kit(t, home, "programme", "apply", programmeFile(home, "pomarrow"))
	require.Empty(t, errs)
	require.NotContains(t, out, "mind:")
	require.Contains(t, out, "laundering, before: until 2026-09-30 is added")
	_, out, _ = kit(t, home, "programme", "show", "pomarrow", "--json")
	var shown struct {
		Format    int
		Programme map[string]any
	}
	require.NoError(t, json.Unmarshal([]byte(out), &shown))
	require.EqualValues(t, 6, shown.Programme["cover_weeks"])
	_, out, _ = kit(t, home, "programme", "list", "--json")
	require.Contains(t, out, `"code": "pomarrow"`)
}

// A programme that is applied with others, and is as it was, is left alone: it says of when it is.
func TestApplyingLeavesAloneWhatDidNotChange(t *testing.T) {
	home := shopWithFiles(t)
	kit(t, home, "programme", "apply")
	applied := func() (at map[string]time.Time) {
		b, err := books.Open(t.Context(), home)
		require.NoError(t, err)
		defer func() { require.NoError(t, b.Close()) }()
		rows, err := b.Store.Clients(t.Context())
		require.NoError(t, err)
		at = map[string]time.Time{}
		for _, r := range rows {
			at[r.Code] = r.AppliedAt
		}
		return at
	}
	before := applied()
	replaceIn(t, programmeFile(home, "pomarrow"), "count_every_weeks: 13", "count_every_weeks: 14")
	_, out, _ := kit(t, home, "programme", "apply")
	require.Contains(t, out, "Applied: pomarrow.\n")
	after := applied()
	require.NotEqual(t, before["pomarrow"], after["pomarrow"])
	delete(before, "pomarrow")
	delete(after, "pomarrow")
	require.Equal(t, before, after)
}

func TestOneMistakeAppliesNothing(t *testing.T) {
	home := shopWithFiles(t)
	replaceIn(t, programmeFile(home, "wrenmoor"), "garment: cool-polo", "garment: kool-polo")
	replaceIn(t, programmeFile(home, "pomarrow"), "count_every_weeks: 13", "coverweeks: 10\ncount_every_weeks: 13")
	status, _, errs := kit(t, home, "programme", "apply")
	require.Equal(t, exitWork, status)
	require.Contains(t, errs, `there is no garment "kool-polo"; did you mean cool-polo?`)
	require.Contains(t, errs, "unknown key coverweeks; did you mean cover_weeks?")
	require.Contains(t, errs, "Nothing was changed")
	b, err := books.Open(context.Background(), home)
	require.NoError(t, err)
	rows, err := b.Store.Clients(context.Background())
	require.NoError(t, err)
	require.NoError(t, b.Close())
	require.Empty(t, rows)
}

func TestAFileIsNamedAfterItsClient(t *testing.T) {
	home := shopWithFiles(t)
	require.NoError(t, os.Rename(programmeFile(home, "pomarrow"), programmeFile(home, "bakery")))
	status, _, errs := kit(t, home, "programme", "apply")
	require.Equal(t, exitWork, status)
	require.Contains(t, errs, "a programme's file is named after its code: pomarrow.yaml")
}

func TestChoosePutsGarmentsSideBySide(t *testing.T) {
	home := shopWithFiles(t)
	_, _, errs := kit(t, home, "programme", "apply")
	require.Empty(t, errs)
	status, out, errs := kit(t, home, "choose", "pomarrow", "--garment", "tee", "--as-of", "2026-03-02")
	require.Zero(t, status, errs)
	require.Contains(t, out, "Cheapest to wear: ")
	require.Regexp(t, `The premium garment (is the dearer one|pays) here`, out)
	status, out, errs = kit(t, home, "choose", "pomarrow", "--json")
	require.Zero(t, status, errs)
	var got struct {
		Format  int
		Answers []struct{ Options []map[string]any }
	}
	require.NoError(t, json.Unmarshal([]byte(out), &got))
	require.Len(t, got.Answers, 3, "tee, apron and cap")
	status, _, errs = kit(t, home, "choose", "pomarrow", "--garment", "kilt")
	require.Equal(t, exitWork, status)
	require.Contains(t, errs, `read "kilt", but there is no such garment in shop.yaml; write one of `)
	status, _, errs = kit(t, home, "choose", "pomarrow", "--role", "bakre")
	require.Equal(t, exitWork, status)
	require.Contains(t, errs,
		`--role is "bakre", but there is no such role in the programme of pomarrow; baker comes nearest`)
}

func TestADraftIsWrittenAppliedAndNeverOverwritesByItself(t *testing.T) {
	home := shopWithFiles(t)
	_, sheet, _ := kit(t, home, "programme", "draft", "--blank")
	file := filepath.Join(home, "intake.yaml")
	require.NoError(t, os.WriteFile(file, []byte(sheet), 0o600))
	status, out, errs := kit(t, home, "programme", "draft", file, "--dry-run")
	require.Zero(t, status, errs)
	require.Contains(t, out, "Nothing was written (--dry-run).")
	require.NoFileExists(t, programmeFile(home, "client"))

	status, out, errs = kit(t, home, "programme", "draft", file)
	require.Zero(t, status, errs)
	for _, want := range []string{"Options weighed", "What one person costs you", "What to print where",
		"Washing, to tell the client", "Cautions"} {
		require.Contains(t, out, want)
	}
	status, _, errs = kit(t, home, "programme", "apply", programmeFile(home, "client"))
	require.Zero(t, status, errs)
	status, _, errs = kit(t, home, "programme", "draft", file)
	require.Equal(t, exitWork, status)
	require.Contains(t, errs, "is there already; nothing was written")
	status, out, _ = kit(t, home, "programme", "draft", file, "--json")
	require.Zero(t, status)
	require.Contains(t, out, `"first_outfit"`)
}

// A client whose programme has ended is in no round; asked for by name, the round says why.
func TestAClientThatEndedIsInNoRound(t *testing.T) {
	home := shopWithProposals(t)
	out := mustKit(t, home, "round", "--as-of", "2026-03-09", "--dry-run")
	require.Contains(t, out, "of 1 client")
	text := mustKit(t, home, "programme", "list", "--json")
	code := regexp.MustCompile(`"code": "([^"]+)"`).FindStringSubmatch(text)[1]
	file := programmeFile(home, code)
	require.NoError(t, os.MkdirAll(filepath.Dir(file), 0o700))
	require.NoError(t, os.WriteFile(file, []byte(mustKit(t, home, "programme", "show", code)), 0o600))
	replaceIn(t, file, "code: "+code, "ends: 2026-03-08\ncode: "+code)
	require.NotContains(t, mustKit(t, home, "programme", "list"), "Ends", "no column where nothing ends")
	require.Contains(t, mustKit(t, home, "programme", "apply", file), "ends: ")
	require.Regexp(t, code+" .* Mar 8, 2026\n", mustKit(t, home, "programme", "list"))
	require.NotContains(t, mustKit(t, home, "round", "--as-of", "2026-03-09", "--dry-run"), "of 1 client")
	status, _, says := kit(t, home, "round", code, "--as-of", "2026-03-09", "--dry-run")
	require.NotZero(t, status)
	require.Contains(t, says, "ended on ")
	require.Contains(t, mustKit(t, home, "round", "--as-of", "2026-03-08", "--dry-run"), "of 1 client")
}
