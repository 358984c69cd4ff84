package reorder_test

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/demand"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

// A list that came back says how many pieces each person gets; the rest of a line is the pool's, starters first.
func TestAListThatCameBackSaysForWhomPiecesAre(t *testing.T) {
	shop, client := aShop(), aClient()
	tee, large, apron := sku("tee", "M"), sku("tee", "L"), sku("apron", "one")
	offered := func() *reorder.Proposal {
		named := []reorder.Named{{StaffID: "7", SKU: tee, Pieces: 3, PEnd: 0.6, Why: programme.CauseWorn},
			{StaffID: "4", SKU: tee, Pieces: 2, PEnd: 0.4, Why: programme.CausePrint},
			{StaffID: "4", SKU: apron, Pieces: 1}}
		p, err := reorder.Direct(shop, client, monday, named, []reorder.LineChange{{SKU: tee, Pieces: 4}})
		require.NoError(t, err)
		p.Pool[0].ForStarters, p.Pool[0].Spare = 3, 1
		return p
	}
	type row = reorder.Listed
	for name, c := range map[string]struct {
		rows    []row
		orders  map[programme.SKU]int
		named   string
		pool    [2]int // of the tees: for starters, spare
		without string
	}{
		"as it went out": {
			[]row{{tee, "7", 3}, {tee, "4", 2}, {apron, "4", 1}, {tee, "", 4}},
			map[programme.SKU]int{tee: 9, apron: 1}, "7:3 4:2 4:1", [2]int{3, 1}, "",
		},
		"fewer for one, none of the apron": {
			[]row{{tee, "7", 1}, {tee, "4", 2}, {tee, "", 4}},
			map[programme.SKU]int{tee: 7, apron: 0}, "7:1 4:2", [2]int{3, 1}, "7:2 4:1",
		},
		"more for one and fewer for starters": {
			[]row{{tee, "7", 5}, {tee, "4", 2}, {tee, "", 2}, {apron, "4", 1}},
			map[programme.SKU]int{tee: 9, apron: 1}, "7:5 4:2 4:1", [2]int{2, 0}, "",
		},
		"one person twice, and another row of the pool": {
			[]row{{tee, "7", 1}, {tee, "7", 2}, {tee, "4", 2}, {tee, "", 1}, {tee, "", 4}, {apron, "4", 1}},
			map[programme.SKU]int{tee: 10, apron: 1}, "7:3 4:2 4:1", [2]int{3, 2}, "",
		},
		"somebody who was not on it, and a size that was not": {
			[]row{{tee, "9", 2}, {large, "7", 3}, {large, "", 1}},
			map[programme.SKU]int{tee: 2, large: 4, apron: 0}, "9:2 7:3", [2]int{0, 0}, "7:3 4:2 4:1",
		},
		"nobody": {[]row{{tee, "7", 0}}, map[programme.SKU]int{tee: 0, apron: 0}, "", [2]int{0, 0}, "7:3 4:2 4:1"},
	} {
		p := offered()
		out, err := p.Relist(shop, client, c.rows)
		require.NoError(t, err, name)
		said, taken := "", ""
		for _, n := range p.Named {
			said += fmt.Sprintf(" %s:%d", n.StaffID, n.Pieces)
		}
		for _, w := range out {
			taken += fmt.Sprintf(" %s:%d", w.StaffID, w.Pieces)
		}
		require.Equal(t, [2]string{c.named, c.without}, [2]string{trim(said), trim(taken)}, name)
		for k, n := range c.orders {
			require.Equal(t, n, p.Line(k).Order, "%s: %s", name, k)
		}
		for _, pool := range p.Pool {
			if pool.SKU == tee {
				got := [2]int{pool.ForStarters, pool.Spare}
				require.Equal(t, c.pool, got, name)
			}
		}
		for _, l := range p.Lines {
			sum := 0
			for _, x := range p.List() {
				if x.SKU == l.SKU {
					sum += x.Pieces
				}
			}
			require.Equal(t, l.Order, sum, "%s: every piece is for somebody or for the pool", name)
		}
	}
	p := offered()
	_, err := p.Relist(shop, client, []row{{tee, "9", 2}, {tee, "7", 3}})
	require.NoError(t, err)
	require.Equal(t, reorder.Named{StaffID: "7", SKU: tee, Pieces: 3, PEnd: 0.6, Why: programme.CauseWorn}, p.Named[0],
		"whoever was named keeps the reason")
	require.Equal(t, reorder.Named{StaffID: "9", SKU: tee, Pieces: 2, PEnd: 1, Why: programme.CauseOwed}, p.Named[1],
		"who is added is short of it")

	before := offered()
	_, err = before.Relist(shop, client, []row{{programme.SKU{Garment: "hat", Size: "M"}, "7", 1}})
	require.ErrorContains(t, err, "is in no kit")
	require.Equal(t, offered(), before, "with an error nothing is changed")
}

func trim(s string) string {
	if s == "" {
		return ""
	}
	return s[1:]
}

// Since an order of Monday: who started after it and was not known to it, and what ended.
func TestWhatHasHappenedSinceAnOrder(t *testing.T) {
	p := &reorder.Proposal{Number: 4, AsOf: monday, Arrives: monday + 14, CoverUntil: monday + 70, Ending: 9}
	p.Lines = []reorder.Line{
		{SKU: sku("tee", "M"), Order: 6, Offered: 8, Changed: true,
			Causes: programme.Causes{Endings: programme.Endings[float64]{Worn: 3, Print: 1, Mishap: 1}}},
		{SKU: sku("tee", "L"), Order: 6, Offered: 6, Changed: true,
			Causes: programme.Causes{Endings: programme.Endings[float64]{Worn: 5.5}}},
		{SKU: sku("tee", "S"), Order: 6, Offered: 9},
	}
	p.Named = []reorder.Named{{StaffID: "new", SKU: sku("tee", "M"), Pieces: 2}}
	l := reorder.LastOf(p)
	require.Equal(t, map[programme.SKU]int{sku("tee", "M"): 2}, l.Struck, "taken off by the client alone")
	require.InDelta(t, 10.5, l.Expected, 1e-12, "no fewer than of the lines together")
	require.InDelta(t, 5, l.ByLine[sku("tee", "M")], 1e-12)
	p.Ending = 12
	require.InDelta(t, 12, reorder.LastOf(p).Expected, 1e-12)

	asOf := monday + 30
	people := []programme.Person{
		{StaffID: "there", Start: monday}, {StaffID: "joined", Start: monday + 1}, {StaffID: "new", Start: monday + 1},
		{StaffID: "today", Start: asOf}, {StaffID: "tomorrow", Start: asOf + 1},
		{StaffID: "gone", Start: monday + 2, End: monday + 9},
	}
	row := func(on programme.Date, kind programme.MovementKind, why programme.Reason, n int) programme.Movement {
		return programme.Movement{Date: on, Kind: kind, Reason: why, Pieces: n, SKU: sku("tee", "M")}
	}
	l.Happened(people, []programme.Movement{
		row(monday, programme.Ended, programme.Worn, 1), row(monday+1, programme.Ended, programme.Worn, 2),
		row(asOf, programme.Ended, programme.Lost, 4),
		row(asOf+1, programme.Ended, programme.Worn, 8), row(monday+5, programme.Issued, "", 16),
		row(monday+5, programme.Ended, programme.LeftReason, 32), row(monday+6, programme.Ended, programme.SizeChange, 64),
	}, asOf)
	require.Equal(t, []string{"joined", "today"}, l.Joined)
	require.Equal(t, map[programme.SKU]int{sku("tee", "M"): 6}, l.Ended)
}

// Blanks that run out go to the first client who has the line, all of a garment and colour.
func TestOldBlanksAreOneClientsAlone(t *testing.T) {
	old := programme.Former{Garment: "apron", Colour: "burgundy"}
	client := func(code string, change programme.Change, former programme.Former) *programme.Client {
		line := programme.KitLine{Garment: "apron", Colour: "black", InsteadOf: former, Change: change}
		return &programme.Client{Code: code, Roles: []programme.Role{{Kit: []programme.KitLine{line}},
			{Kit: []programme.KitLine{line}}}}
	}
	k := func(garment, colour, size string) programme.SKU {
		return programme.SKU{Garment: garment, Colour: colour, Size: size}
	}
	there := map[programme.SKU]int{k("apron", "burgundy", "S"): 3, k("apron", "burgundy", "M"): 4,
		k("tee", "burgundy", "S"): 5, k("apron", "black", "S"): 6}
	got := reorder.OldBlanks([]*programme.Client{
		client("worn", programme.AsWorn, old), client("first", programme.RunOut, old),
		client("second", programme.RunOut, old),
		client("tees", programme.RunOut, programme.Former{Garment: "tee", Colour: "burgundy"}),
	}, there)
	require.Equal(t, map[string]map[programme.SKU]int{
		"worn": {}, "second": {},
		"first": {k("apron", "burgundy", "S"): 3, k("apron", "burgundy", "M"): 4},
		"tees":  {k("tee", "burgundy", "S"): 5},
	}, got)
}

// Two owed and one due on a known day take the three old pieces that are there; of four who may
// come to need one nobody is left any.
func TestOldPiecesGoFirstToWhoeverIsShort(t *testing.T) {
	for there, want := range map[int][3]int{ // owed, coming and likely ones that get an old piece
		1: {1, 0, 0}, 2: {2, 0, 0}, 3: {2, 1, 0}, 4: {2, 1, 1}, 6: {2, 1, 3}, 9: {2, 1, 3},
	} {
		in := runsOut(1, 2, there)
		black, burgundy := sku("apron", "one"), in.Lines[0].Quantity.SKU
		in.Owed = []reorder.Owed{{StaffID: "a", SKU: sku("tee", "M"), Pieces: 5}, {StaffID: "a", SKU: black, Pieces: 1},
			{StaffID: "b", SKU: black, Pieces: 1}}
		in.Coming = []reorder.Owed{{StaffID: "c", SKU: black, Pieces: 1}}
		for i, chance := range []float64{0.2, 0.9, 0.5, 0} {
			o := demand.Outlook{PEnd: chance, StaffID: fmt.Sprint("o", i), SKU: black}
			in.Outlooks = append(in.Outlooks, o)
		}
		reorder.RunOut(&in, map[programme.SKU]int{})
		count := func(list []reorder.Owed, k programme.SKU) (n int) {
			for _, o := range list {
				if o.SKU == k {
					n += o.Pieces
				}
			}
			return n
		}
		likely := 0
		for i, o := range in.Outlooks {
			if o.Replacement() == burgundy {
				likely++
				require.NotEqual(t, 3, i, "a piece that cannot end needs nothing")
			}
		}
		require.Equal(t, want, [3]int{count(in.Owed, burgundy), count(in.Coming, burgundy), likely}, "%d there", there)
		require.Equal(t, [2]int{2, 1}, [2]int{count(in.Owed, burgundy) + count(in.Owed, black),
			count(in.Coming, burgundy) + count(in.Coming, black)}, "nothing is lost")
		require.Equal(t, 5, count(in.Owed, sku("tee", "M")))
		if there == 4 {
			require.Equal(t, burgundy, in.Outlooks[1].Replacement(), "the likeliest first")
		}
	}
}

// Of three that one person is short of two old pieces are there: the third is a new one.
func TestOldPiecesMeetPartOfWhatSomebodyIsShortOf(t *testing.T) {
	for there, want := range map[int][2]int{1: {1, 2}, 2: {2, 1}, 3: {3, 0}, 5: {3, 0}} {
		in := runsOut(1, 3, there)
		old, black := in.Lines[0].Quantity.SKU, sku("apron", "one")
		reorder.RunOut(&in, map[programme.SKU]int{})
		got := []reorder.Owed{{StaffID: "a", SKU: old, Pieces: want[0]}}
		if want[1] > 0 {
			got = append(got, reorder.Owed{StaffID: "a", SKU: black, Pieces: want[1]})
		}
		require.Equal(t, got, in.Owed)
	}
}
