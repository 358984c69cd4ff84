package supply

import (
	"maps"
	"slices"

	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/reorder"
	"github.com/kitmuster/kitmuster/programme/sheet"
)

// WeeksPerMonth turns a need a week into a need a month.
const WeeksPerMonth = 365.2425 / 12 / 7

// Job is a proposal with whom it is for.
type Job struct {
	Proposal *reorder.Proposal
	Client   *programme.Client
	People   programme.Roster
	// Coming are transfers for it on sheets that are ordered and not here yet.
	Coming []programme.StockLine
}

// Read reads whom a proposal is for, and what is on its way to it.
func Read(tx *store.Tx, client *programme.Client, p *reorder.Proposal) (Job, error) {
	j := Job{Proposal: p, Client: client}
	people, err := tx.People(p.Client)
	if err != nil {
		return j, err
	}
	j.People = people
	sheets, err := tx.SheetOrdersOf(p.Number)
	for i := range sheets {
		if sheets[i].State == sheet.Ordered {
			j.Coming = append(j.Coming, PrintedFor(&sheets[i], p)...)
		}
	}
	return j, err
}

// PrintedFor returns the transfers on sheets that were printed for a proposal.
func PrintedFor(o *store.SheetOrder, p *reorder.Proposal) []programme.StockLine {
	var out []programme.StockLine
	add := func(art string, pieces int) {
		out = append(out, programme.StockLine{Goods: programme.TransferGoods(art), Pieces: pieces})
	}
	for _, f := range o.Plan.For {
		if f.Number == p.Number {
			add(f.Artwork, f.Pieces)
		}
	}
	if len(o.Plan.For) > 0 {
		return out
	}
	for _, l := range o.Plan.Lines {
		if l.Client == p.Client {
			add(l.Artwork, l.Print)
		}
	}
	return out
}

// Needs lists the transfers of the whole proposal, ordered by artwork.
func (j *Job) Needs(shop *programme.Shop, asOf programme.Date) []sheet.Need {
	return j.needs(shop, asOf, j.Proposal.TransfersOn(shop, j.Client, j.People))
}

func (j *Job) needs(shop *programme.Shop, asOf programme.Date, pieces map[string]int) []sheet.Need {
	weeks := reorder.Horizons(shop, j.Client, asOf).Quantity // how long the order is meant to last
	expected := map[string]float64{}
	for i := range j.Proposal.Lines {
		l := &j.Proposal.Lines[i]
		on, _ := j.Client.Decorations(shop, "", l.SKU)
		for _, d := range on {
			expected[d.Artwork] += l.Expected
		}
	}
	needs := make([]sheet.Need, 0, len(pieces))
	for _, art := range slices.Sorted(maps.Keys(pieces)) {
		needs = append(needs, sheet.Need{Artwork: art, Pieces: pieces[art],
			PerMonth: expected[art] / float64(max(weeks, 1)) * WeeksPerMonth})
	}
	return needs
}

// toPrint returns the transfers that must be had and those that there are for them:
// for pieces that must be made again, what is not needed for the others.
func (j *Job) toPrint(shop *programme.Shop) (pieces map[string]int, there []programme.StockLine) {
	p := j.Proposal
	there = append(p.Shelf(), j.Coming...)
	if !onOrder(p.State) {
		pieces = p.TransfersFor(shop, j.Client, j.People, p.ToPress(false))
		j.leaveOutComing(pieces, there)
		return pieces, there
	}
	pieces = p.TransfersFor(shop, j.Client, j.People, p.ToPress(true))
	others := p.TransfersFor(shop, j.Client, j.People, p.ToPress(false))
	for art, n := range pieces {
		others[art] -= n
	}
	for i := range there {
		n := min(there[i].Pieces, max(0, others[there[i].Code]))
		there[i].Pieces -= n
		others[there[i].Code] -= n
	}
	return pieces, there
}

// leaveOutComing takes away what is on sheets that are ordered already: no further
// sheet is set up for the allowance alone.
func (j *Job) leaveOutComing(pieces map[string]int, there []programme.StockLine) {
	have := map[string]int{}
	for _, t := range there {
		have[t.Code] += t.Pieces
	}
	for _, c := range j.Coming {
		if have[c.Code] >= pieces[c.Code] {
			delete(pieces, c.Code)
		}
	}
}

// onOrder reports whether the goods of the proposal were ordered: only what must
// be made again is still to be bought.
func onOrder(s reorder.State) bool { return s == reorder.Ordered || s == reorder.PartReceived }
