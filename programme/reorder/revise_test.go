package reorder_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

var week1 = monday

// form is a proposal of tees in M and L with prices and dates.
func form(asOf programme.Date, m, l int) *reorder.Proposal {
	p := &reorder.Proposal{Number: 4, AsOf: asOf, OrderBy: asOf + 2, Arrives: asOf + 14, State: reorder.Sent}
	for size, n := range map[string]int{"L": l, "M": m} {
		if n > 0 {
			p.Lines = append(p.Lines, reorder.Line{SKU: sku("tee", size), Order: n, UnitPrice: 1000})
			p.Price += programme.Money(1000 * n)
		}
	}
	return p
}

func kinds(list []reorder.Difference) (out []reorder.DifferenceKind) {
	for _, d := range list {
		out = append(out, d.Kind)
	}
	return out
}

func TestWhatACustomerWouldNotice(t *testing.T) {
	old := form(week1, 10, 10)
	for name, c := range map[string]struct {
		now  *reorder.Proposal
		want []reorder.DifferenceKind
	}{
		"nothing":             {form(week1, 10, 10), nil},
		"a piece more of ten": {form(week1, 11, 10), nil},
		"three more of ten":   {form(week1, 13, 10), []reorder.DifferenceKind{reorder.OtherPieces}},
		"a size that is new":  {form(week1, 10, 0), []reorder.DifferenceKind{reorder.OtherPieces}},
		"a bit of each, more than a tenth in all": {form(week1, 12, 11), []reorder.DifferenceKind{reorder.OtherTotal}},
		"the next day, the promise still good":    {form(week1+1, 10, 10), nil},
		"a week later, when the last day is over": {form(week1+7, 10, 10),
			[]reorder.DifferenceKind{reorder.OtherArrival}},
	} {
		t.Run(name, func(t *testing.T) { require.Equal(t, c.want, kinds(reorder.Noticeable(old, c.now))) })
	}
	dearer := form(week1, 10, 10)
	dearer.Price += 1100 // of 200.00
	require.Equal(t, []reorder.DifferenceKind{reorder.OtherPrice}, kinds(reorder.Noticeable(old, dearer)))
	dearer.Price -= 200
	require.Empty(t, reorder.Noticeable(old, dearer), "4.5 % is not worth another form")
}

// A no holds as long as the client's cover, or until noticeably more is missing
// than was refused; with a day it holds until the day. A not now holds until its day.
func TestHowLongANoHolds(t *testing.T) {
	const cover = 56
	said := func(state reorder.State, until programme.Date) *reorder.Proposal {
		p := form(week1, 10, 10)
		p.State, p.Until, p.Answered = state, until, week1+1
		return p
	}
	short := form(week1+7, 10, 10)
	short.Named = []reorder.Named{{StaffID: "a", SKU: sku("tee", "M"), Pieces: 1, Why: programme.CauseOwed}}
	for name, c := range map[string]struct {
		past, now *reorder.Proposal
		asOf      programme.Date
		holds     bool
	}{
		"a no against the same":              {said(reorder.Declined, 0), form(week1, 10, 10), week1 + 7, true},
		"a no against a little more":         {said(reorder.Declined, 0), form(week1, 12, 11), week1 + 7, true},
		"a no against much more":             {said(reorder.Declined, 0), form(week1, 20, 10), week1 + 7, false},
		"a no against somebody who is short": {said(reorder.Declined, 0), short, week1 + 7, false},
		"a no after the cover": {said(reorder.Declined, 0), form(week1, 10, 10),
			week1 + 1 + cover, false},
		"a no until a day, against much more": {said(reorder.Declined, week1+100), form(week1, 20, 10),
			week1 + 99, true},
		"a no on its day": {said(reorder.Declined, week1+100), form(week1, 10, 10),
			week1 + 100, false},
		"a not now before its day": {said(reorder.PutOff, week1+30), short, week1 + 29, true},
		"a not now on its day": {said(reorder.PutOff, week1+30), form(week1, 10, 10),
			week1 + 30, false},
		"what is received holds nothing back":      {said(reorder.Received, 0), form(week1, 10, 10), week1 + 7, false},
		"what waits for an answer is none":         {said(reorder.Sent, 0), form(week1, 10, 10), week1 + 7, false},
		"a yes is counted as stock and not a no":   {said(reorder.Accepted, 0), form(week1, 10, 10), week1 + 7, false},
		"goods on their way are counted otherwise": {said(reorder.Ordered, 0), form(week1, 10, 10), week1 + 7, false},
	} {
		t.Run(name, func(t *testing.T) {
			require.Equal(t, c.holds, reorder.Stands(c.past, c.now, c.asOf, cover))
		})
	}
}

// The customer asked for four instead of six and has not said yes. Next Monday's
// form asks for four, too, unless the need is another by then.
func TestTheNextFormKeepsWhatTheCustomerAskedFor(t *testing.T) {
	in := bakery()
	p, _ := reorder.Propose(in)
	require.NotNil(t, p)
	line := &p.Lines[0]
	old, _ := reorder.Propose(in)
	fewer := line.Order - 2
	_, err := old.Change(in.Shop, in.Client, []reorder.LineChange{{SKU: line.SKU, Pieces: fewer}})
	require.NoError(t, err)

	now, _ := reorder.Propose(in)
	require.NoError(t, now.Keep(in.Shop, in.Client, old))
	require.Equal(t, fewer, now.Line(line.SKU).Order)
	require.Empty(t, reorder.Noticeable(old, now))

	now, _ = reorder.Propose(in)
	more := now.Line(line.SKU).Order + 10
	now.Line(line.SKU).Order = more
	require.NoError(t, now.Keep(in.Shop, in.Client, old))
	require.Equal(t, more, now.Line(line.SKU).Order, "the need has grown")
}

// Where the day alone has moved, the first form stands one week, the next two, all others four; a difference of
// pieces goes out at once and tells the day with it. From the day of a not now on it begins anew.
func TestHowLongAFormStandsWhoseDayAloneMoves(t *testing.T) {
	held := form(week1, 10, 10)
	var sent []int
	for week := 1; week <= 16; week++ {
		now := form(week1.Add(7*week), 10, 10)
		if differs := reorder.Noticeable(held, now); len(differs) > 0 {
			require.Equal(t, []reorder.DifferenceKind{reorder.OtherArrival}, kinds(differs))
			now.Continue(held)
			held, sent = now, append(sent, week)
		}
	}
	require.Equal(t, []int{1, 3, 7, 11, 15}, sent)
	require.Equal(t, week1, held.Since())

	more := form(held.AsOf+7, 13, 10)
	require.Equal(t, []reorder.DifferenceKind{reorder.OtherPieces, reorder.OtherArrival},
		kinds(reorder.Noticeable(held, more)))

	held.State, held.Until = reorder.PutOff, held.AsOf+30
	anew := form(held.Until, 10, 10)
	anew.Continue(held)
	require.Equal(t, held.Until, anew.Since(), "their not now was an answer")
	require.Empty(t, reorder.Noticeable(anew, form(anew.AsOf+6, 10, 10)))
	require.NotEmpty(t, reorder.Noticeable(anew, form(anew.AsOf+7, 10, 10)))
}
