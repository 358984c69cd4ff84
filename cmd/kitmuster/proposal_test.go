package main

import (
	"bytes"
	"context"
	"encoding/json"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/notify/folder"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/goldentest"
	"github.com/kitmuster/kitmuster/programme/reorder"
	"github.com/kitmuster/kitmuster/programme/setup"
	"github.com/kitmuster/kitmuster/programme/simulate"
)

// shopWithProposals is a folder with the smallest invented client and what a
// round of 2 March 2026 proposes to it, as number 1.
func shopWithProposals(t *testing.T) string {
	t.Helper()
	ctx, home := context.Background(), t.TempDir()
	asOf := programme.NewDate(2026, 3, 2)
	w := simulate.NewWorld(asOf, simulate.Seed(1))
	require.NoError(t, os.WriteFile(filepath.Join(home, books.ShopFile), setup.WriteShop(&w.Shop), 0o600))
	b, err := books.Create(ctx, home)
	require.NoError(t, err)
	smallest := &w.Cases[0]
	for i := range w.Cases {
		if len(w.Cases[i].Roster) < len(smallest.Roster) {
			smallest = &w.Cases[i]
		}
	}
	require.NoError(t, b.Store.InTx(ctx, func(tx *store.Tx) error {
		require.NoError(t, tx.PutClient(smallest.Client.Code, setup.WriteClient(&smallest.Client)))
		require.NoError(t, tx.PutPeople(smallest.Client.Code, smallest.Roster))
		_, _, err := tx.AddMovements(smallest.Client.Code, smallest.Ledger, 0)
		return err
	}))
	require.NoError(t, b.Close())
	require.NoError(t, os.WriteFile(filepath.Join(home, "config.yaml"), []byte("limits: {tries: 0}\n"), 0o600))
	mustKit(t, home, "round", "--as-of", asOf.String())
	return home
}

// kit runs one command line in a shop's folder.
func kit(t testing.TB, home string, args ...string) (status int, stdout, stderr string) {
	t.Helper()
	var out, errs bytes.Buffer
	status = run(context.Background(), append([]string{"--home", home}, args...), strings.NewReader(""), &out, &errs)
	return status, out.String(), errs.String()
}

func mustKit(t testing.TB, home string, args ...string) string {
	t.Helper()
	status, out, errs := kit(t, home, args...)
	require.Equal(t, exitDone, status, errs)
	return out
}

// moment is the time at which the test itself ran.
var moment = regexp.MustCompile(`(?m)^.* \d\d:\d\d: (\w+)`)

// aProposal has one of everything that the page can show.
func aProposal(client string) *reorder.Proposal {
	tee := programme.SKU{Garment: "tee", Colour: "black", Size: "M"}
	vest := programme.SKU{Garment: "vest", Colour: "yellow", Size: "L"}
	day := programme.NewDate(2026, 3, 2)
	return &reorder.Proposal{
		Client: client, AsOf: day, State: reorder.Drafted, OrderBy: day + 4, Arrives: day + 14, CoverUntil: day + 90,
		LeadDays: 12, Late: true,
		TargetFill: 0.9, FillNow: 0.71, FillAfter: 0.93,
		Lines: []reorder.Line{{
			SKU: tee, Expected: 14.6, Causes: programme.Causes{Endings: programme.Endings[float64]{Worn: 9.8,
				Print: 3.5, Mishap: 0.9}, Hires: 0.4}, AtTarget: 16, OnHand: 3, OnOrder: 1, Owed: 2,
			Wanted: 14, Order: 18, Rounding: "sold in packs of 6", BlanksOnShelf: 6, Buy: 12, OrderBlanksBy: day + 7,
			UnitCost: 390, UnitPrice: 1500, ShortBefore: 12.7, ShortAfter: 0.3,
		}},
		Named: []reorder.Named{
			{StaffID: "K-01", SKU: tee, Pieces: 2, Why: programme.CauseOwed},
			{StaffID: "K-02", SKU: tee, Pieces: 3, Why: programme.CausePrint, Washes: 41.7, By: day + 20, PEnd: 0.8},
		},
		Pool:   []reorder.Pool{{SKU: tee, ForStarters: 5, Spare: 8}},
		Holds:  []reorder.Hold{{SKU: vest, Pieces: 2, Protective: programme.HighVisibility, LabelWashes: 25}},
		Blanks: 4680, Transfers: 1210, Pressing: 960, Freight: 650, Price: 27000, PressHours: 0.3,
		Suppliers: []reorder.SupplierOrder{{Supplier: "blanks", Value: 4680, Freight: 650, ToFreeFreight: 15320}},
		Pulled: &reorder.Pulled{Saving: 830, Kept: 54, KeptPerYear: 0.3, Reason: reorder.SharesFreight,
			NextDue: day + 14, Supplier: "blanks"},
		Reasons: []reorder.Reason{
			{Kind: reorder.BelowTarget}, {Kind: reorder.OwedNow, SKU: tee, Pieces: 2},
			{Kind: reorder.ShortestLine, SKU: tee, Pieces: 1.4},
		},
	}
}

func TestProposalIsShownWithItsReasons(t *testing.T) {
	home := shopWithProposals(t)
	ctx := context.Background()
	b, err := books.Open(ctx, home)
	require.NoError(t, err)
	clients, err := b.Store.Clients(ctx)
	require.NoError(t, err)
	p := aProposal(clients[0].Code)
	numbers, err := b.Store.Reserve(ctx, 1)
	require.NoError(t, err)
	p.Number = numbers.Proposal
	require.NoError(t, b.Store.InTx(ctx, func(tx *store.Tx) error {
		require.NoError(t, tx.PutPeople(p.Client,
			[]programme.Person{{StaffID: "K-01", Name: "Zoë Šimek", Start: p.AsOf}}))
		return tx.AddProposal(1, p)
	}))
	client, err := b.Client(ctx, p.Client)
	require.NoError(t, err)
	name := client.Name
	require.NoError(t, b.Close())
	out := mustKit(t, home, "proposal", "show", "2")
	require.Contains(t, out, "Proposal 2 for "+name+": written, not yet sent")
	out = moment.ReplaceAllString(strings.Replace(out, name, "CLIENT", 1), "(then): $1")
	goldentest.Equal(t, "proposal-show.txt", []byte(out))
	explained := mustKit(t, home, "proposal", "show", "2", "--explain")
	require.Contains(t, explained, "enough with 16 − 2 there = 14")
	said := map[string]bool{}
	for line := range strings.SplitSeq(explained, "\n") {
		if strings.HasPrefix(line, "- ") && !strings.Contains(line, "blanks: ") && strings.HasSuffix(line, ".") {
			require.False(t, said[line], "said twice: %s", line)
			said[line] = true
		}
	}
	require.NotEmpty(t, said)
	require.Equal(t, 1, strings.Count(explained, "whatever is in it"))
	require.Regexp(t, `(?m)^ +2 +`+p.Client+` .* drafted .* 18 +\$270\.00 +\$75\.00 +\$195\.00`,
		mustKit(t, home, "proposal", "list"))
}

func TestProposalJSONHoldsTheWholeProposal(t *testing.T) {
	home := shopWithProposals(t)
	var shown struct {
		Format   int
		Proposal reorder.Proposal
		History  []struct{ To string }
	}
	require.NoError(t, json.Unmarshal([]byte(mustKit(t, home, "proposal", "show", "1", "--json")), &shown))
	require.Equal(t, 1, shown.Format)
	require.Equal(t, "drafted", shown.History[0].To)
	var list struct {
		Format    int
		Proposals []reorder.Proposal
	}
	require.NoError(t, json.Unmarshal([]byte(mustKit(t, home, "proposal", "list", "--json")), &list))
	require.Equal(t, []reorder.Proposal{shown.Proposal}, list.Proposals)
	require.JSONEq(t, `{"format":1,"proposals":[]}`,
		mustKit(t, home, "proposal", "list", "--state", "lapsed", "--json"))
}

// From the yes to the pieces in hands, by commands alone.
func TestAProposalIsAcceptedOrderedAndReceived(t *testing.T) {
	home := shopWithProposals(t)
	require.NoError(t, os.WriteFile(filepath.Join(home, "config.yaml"),
		[]byte("mail: {from_address: uniforms@shop.example, from_name: Uniforms}\n"), 0o600))
	out := mustKit(t, home, "proposal", "accept", "1", "--on", "2026-03-03", "--note", "by telephone")
	require.Contains(t, out, "is accepted.")
	require.Contains(t, out, "kitmuster orders")
	papers, err := filepath.Glob(filepath.Join(home, "jobs", "1-*", "*"))
	require.NoError(t, err)
	require.Len(t, papers, 4, "ticket, tags, packing lists and their list")
	for _, p := range papers {
		b, err := os.ReadFile(p)
		require.NoError(t, err)
		require.NotEmpty(t, b)
		if strings.HasSuffix(p, ".pdf") {
			require.True(t, bytes.HasPrefix(b, []byte("%PDF-")), p)
		}
	}
	mustKit(t, home, "proposal", "show", "1", "--papers")
	mustKit(t, home, "proposal", "ordered", "1", "--on", "2026-03-03")
	out = mustKit(t, home, "proposal", "received", "1", "--on", "2026-03-16")
	require.Regexp(t, `\d+ pieces issued to people, \d+ on the client's shelf`, out)
	require.Contains(t, mustKit(t, home, "proposal", "show", "1"), "accepted (by telephone)")

	ctx := context.Background()
	b, err := books.Open(ctx, home)
	require.NoError(t, err)
	defer func() { require.NoError(t, b.Close()) }()
	p, err := b.Store.Proposal(ctx, 1)
	require.NoError(t, err)
	moves, err := b.Store.Movements(ctx, p.Client)
	require.NoError(t, err)
	pieces, transfers := 0, 0
	for _, m := range moves {
		if m.Proposal == 1 {
			pieces += m.Pieces
		}
	}
	stock, err := b.Store.Stock(ctx)
	require.NoError(t, err)
	for _, l := range stock {
		if l.Kind == programme.Finished {
			pieces += l.Pieces
		}
		if l.Kind == programme.Transfer {
			transfers += l.Pieces
		}
	}
	require.Positive(t, transfers, "the overs of the sheets are on the shelf")
	require.Equal(t, p.Pieces(), pieces, "every piece ordered is in hands or on the shelf")
	requireJobFrom(ctx, t, b.Store, `"Uniforms" <uniforms@shop.example>`)
}

// requireJobFrom looks for the mail with the papers and who it comes from.
func requireJobFrom(ctx context.Context, t *testing.T, s *store.Store, from string) {
	t.Helper()
	for n := int64(1); ; n++ {
		letter, ok, err := s.Letter(ctx, n)
		require.NoError(t, err)
		require.True(t, ok, "no mail with the papers")
		if letter.Kind == "job" {
			require.Contains(t, string(letter.Bytes), "From: "+from)
			require.Contains(t, letter.MessageID, "@shop.example")
			return
		}
	}
}

func TestAnswersThatCannotBe(t *testing.T) {
	home := shopWithProposals(t)
	for _, c := range []struct {
		name, want string
		status     int
		args       []string
	}{
		{"received before accepted", "accept it ('kitmuster proposal accept 1')", exitWork, []string{"received", "1"}},
		{"an unknown number", "no such proposal as number 7; 'kitmuster proposal list' shows them all", exitWork,
			[]string{"accept", "7"}},
		{"no number", `"bakery" is no number of a proposal`, exitUsage, []string{"show", "bakery"}},
		{"nothing", "also wants NUMBER", exitUsage, []string{"accept"}},
		{"a state that is none", `--state "gone" is no state of a proposal`, exitUsage,
			[]string{"list", "--state", "gone"}},
		{"a client that is none", "no such client", exitWork, []string{"list", "nobody"}},
		{"a day that does not exist", `"2026-02-30" is not a date`, exitUsage,
			[]string{"accept", "1", "--on", "2026-02-30"}},
		{"a day before the proposal", "nothing can have happened to it on 2026-03-01", exitWork,
			[]string{"accept", "1", "--on", "2026-03-01"}},
		{"papers before the yes", "papers for the press are written once it is accepted", exitWork,
			[]string{"show", "1", "--papers"}},
		{"cancelled but never ordered", "nothing is ordered, so there is nothing to cancel", exitWork,
			[]string{"decline", "1", "--cancelled"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			status, out, errs := kit(t, home, append([]string{"proposal"}, c.args...)...)
			require.Equal(t, c.status, status)
			require.Empty(t, out)
			require.Contains(t, errs, c.want)
			require.Equal(t, 1, strings.Count(errs, "\n"), "one line, one sentence")
		})
	}
	require.Contains(t, mustKit(t, home, "proposal", "list"), "drafted", "nothing has changed")
}

// A no stays a no until the client says otherwise; then a late yes is a yes.
func TestADeclinedProposalStaysDeclined(t *testing.T) {
	home := shopWithProposals(t)
	require.Contains(t, mustKit(t, home, "proposal", "decline", "1", "--because", "budget"), "is declined.")
	status, _, errs := kit(t, home, "proposal", "change", "1", "S=1")
	require.Equal(t, exitWork, status, errs)
	require.Contains(t, errs, "was declined; if the client says yes after all, record that first")
	require.Contains(t, mustKit(t, home, "proposal", "show", "1"), "declined (budget)")
	require.Contains(t, mustKit(t, home, "proposal", "accept", "1", "--yes"), "is accepted.")
}

// A draft that lies about can be forwarded by mistake: what is answered, or will not be
// ordered, lies apart, and an undo puts it back.
func TestDraftsThatNobodyIsToSendAnyMoreLieApart(t *testing.T) {
	home := shopWithProposals(t)
	drafts := func() (open, settled []string) {
		t.Helper()
		for dir, into := range map[string]*[]string{".": &open, folder.SettledDir: &settled} {
			found, err := filepath.Glob(filepath.Join(home, books.DraftsDir, dir, "*.eml"))
			require.NoError(t, err)
			for _, f := range found {
				*into = append(*into, filepath.Base(f))
			}
		}
		return open, settled
	}
	open, settled := drafts()
	require.Equal(t, []string{"proposal-1.draft.eml"}, open)
	require.Empty(t, settled)
	for _, step := range []struct {
		say           []string
		open, settled string // patterns of all that lie there
	}{
		{[]string{"proposal", "decline", "1", "--on", "2026-03-03"}, "", "proposal-1.draft"},
		{[]string{"undo", client(t, home)}, "proposal-1.draft", ""},
		{[]string{"proposal", "accept", "1", "--on", "2026-03-03", "--dry-run"}, "proposal-1.draft", ""},
		{[]string{"proposal", "accept", "1", "--on", "2026-03-03"}, "", "proposal-1.draft"},
		{[]string{"orders", "--on", "2026-03-03"}, "^(order-[a-z]+-2026-03-03-[0-9]+.eml ?)+$", "proposal-1.draft"},
		{[]string{"orders", "sent", "--on", "2026-03-03"}, "",
			"^(order-[a-z]+-2026-03-03-[0-9]+.eml ?)+proposal-1.draft"},
		{[]string{"undo"}, "^(order-[a-z]+-2026-03-03-[0-9]+.eml ?)+$", "proposal-1.draft"},
	} {
		mustKit(t, home, step.say...)
		open, settled := drafts()
		require.Regexp(t, step.open, strings.Join(open, " "), step.say)
		require.Regexp(t, step.settled, strings.Join(settled, " "), step.say)
		require.Equal(t, step.open == "", len(open) == 0, step.say)
		require.Equal(t, step.settled == "", len(settled) == 0, step.say)
	}
}
