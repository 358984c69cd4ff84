package reorder_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

// withCaps is a shop that prints caps on film of another printer, who charges for
// every way, and two clients: one whose order has a cap in it, and one without.
func withCaps(freight programme.Money, caps float64) (*programme.Shop, []reorder.Input) {
	shop := aShop()
	shop.Suppliers = append(shop.Suppliers, programme.Supplier{Code: "film", LeadDays: 4, Freight: freight})
	shop.Kinds = append(shop.Kinds, programme.TransferKind{Code: "film", Printer: "film"})
	shop.Garments = append(shop.Garments, programme.Garment{Code: "cap", Supplier: "cloth",
		Sizes: []programme.GarmentSize{{Code: "one", Cost: 400}}})
	shop.Artworks = append(shop.Artworks, programme.Artwork{Code: "badge", Kind: "film"})
	in := another(shop, "bakery", stocked(sku("tee", "M"), 1.5, 0), stocked(sku("cap", "one"), caps, 0))
	in.Client.Roles[0].Kit = append(in.Client.Roles[0].Kit, programme.KitLine{
		Garment: "cap", Colour: "black", Each: 2, WearsAWeek: 5,
		Decorations: []programme.Decoration{{Artwork: "badge", Place: "cap-front"}},
	})
	return shop, []reorder.Input{in}
}

// ways is what all printers charge for a round besides the prints.
func ways(shop *programme.Shop) func([]*reorder.Proposal) programme.Money {
	return func(list []*reorder.Proposal) (sum programme.Money) {
		film := false
		for _, p := range list {
			sum += p.Transfers
			for _, l := range p.Lines {
				film = film || l.Garment == "cap" && l.Order > 0
			}
		}
		if film {
			s, _ := shop.Supplier("film")
			sum += s.Freight
		}
		return sum
	}
}

func pieces(p *reorder.Proposal, garment string) (n int) {
	for i := range p.Lines {
		if p.Lines[i].Garment == garment {
			n += p.Lines[i].Order
		}
	}
	return n
}

// A cap or two whose film costs more to bring than they save until the next order
// wait for that; they do not where the film comes cheaper, or comes anyway for
// another client, where somebody is short of one, or where the programme asks for
// what is to be there.
func TestALineWaitsWhoseWayCostsMoreThanItSaves(t *testing.T) {
	const dear = 9000
	for name, c := range map[string]struct {
		freight programme.Money
		change  func(shop *programme.Shop, in *reorder.Input)
		other   bool
		shelf   bool
		waits   bool
	}{
		"a dear way for little":   {freight: dear, waits: true},
		"a way that costs little": {freight: 50},
		"somebody is short of one": {freight: dear,
			change: func(_ *programme.Shop, in *reorder.Input) { in.Lines[1].Owed = 1 }},
		"the programme says what is there": {freight: dear,
			change: func(_ *programme.Shop, in *reorder.Input) { in.Client.FillRate = 0.99 }},
		"a pool is asked for": {freight: dear,
			change: func(_ *programme.Shop, in *reorder.Input) { in.Client.Pool = 2 }},
		"another client pays for the way": {freight: dear, other: true},
		"their prints lie on the shelf":   {freight: dear, shelf: true},
	} {
		t.Run(name, func(t *testing.T) {
			shop, inputs := withCaps(c.freight, 0.1)
			if c.change != nil {
				c.change(shop, &inputs[0])
			}
			if c.other {
				_, more := withCaps(c.freight, 3)
				more[0].Client.Code, more[0].Shop = "café", shop
				inputs = append(inputs, more...)
			}
			without := reorder.Settle(inputs, nil)[0].Proposal
			require.Positive(t, pieces(without, "cap"))
			terms := reorder.PullTerms{Transfers: ways(shop)}
			if c.shelf {
				terms.Transfers = func(list []*reorder.Proposal) (prints programme.Money) {
					for _, p := range list {
						prints += p.Transfers
					}
					return prints
				}
			}
			p := reorder.PullAll(inputs, nil, terms)[0].Proposal
			if !c.waits {
				require.Empty(t, p.Waits)
				require.Equal(t, without.Pieces(), p.Pieces())
				return
			}
			require.Zero(t, pieces(p, "cap"))
			without.Suppliers = []reorder.SupplierOrder{{Supplier: "film"}}
			without.WeighWays(shop, inputs[0].Client)
			require.Equal(t, pieces(without, "tee"), pieces(p, "tee"))
			saved := programme.Money(0)
			for _, l := range without.Lines {
				for _, s := range l.Saves {
					if l.Garment == "cap" {
						saved += s
					}
				}
			}
			require.Equal(t, []reorder.Waiting{{
				Supplier: "film", Lines: []reorder.Choose{{SKU: sku("cap", "one"), Pieces: pieces(without, "cap")}},
				Charge: dear, Missing: saved,
			}}, p.Waits)
			require.Equal(t, []reorder.SupplierOrder{{Supplier: "film", Pieces: pieces(without, "cap"), Saves: saved}},
				without.Suppliers)
		})
	}
}

// An order of nothing else does not wait for itself: it was found to be worth its way.
func TestAWholeOrderIsNotLeftForALaterOne(t *testing.T) {
	shop, inputs := withCaps(9000, 1)
	inputs[0].Lines = inputs[0].Lines[1:]
	out := reorder.PullAll(inputs, nil, reorder.PullTerms{Transfers: ways(shop)})[0]
	if out.Proposal == nil {
		require.False(t, out.Decision.Due)
		return
	}
	require.Empty(t, out.Proposal.Waits)
}

// What a printer charges for setting a layout up, for each ink of it, is part of the way:
// caps wait where that is more than they save, and prints themselves are no part of it.
func TestALineWaitsForADearSetUp(t *testing.T) {
	const ink = 60
	waited := map[bool]int{}
	for setUp := programme.Money(0); setUp <= 300; setUp += 60 {
		shop, inputs := withCaps(0, 0.1)
		inputs[0].Lines[0].Owed = 1
		for i := range inputs[0].Lines {
			inputs[0].Lines[i].TransferCost = 60
		}
		shop.Kinds[1].SetUp, shop.Kinds[1].SetUpPerInk = setUp, ink
		shop.Artworks[len(shop.Artworks)-1].Inks = 2 // the badge
		charge := setUp + 2*ink
		terms := reorder.PullTerms{Transfers: func(list []*reorder.Proposal) (sum programme.Money) {
			for _, p := range list {
				sum += p.Transfers
				if pieces(p, "cap") > 0 {
					sum += charge
				}
			}
			return sum
		}}
		saved := programme.Money(0)
		for _, s := range reorder.Settle(inputs, nil)[0].Proposal.Line(sku("cap", "one")).Saves {
			saved += max(0, s)
		}
		p := reorder.PullAll(inputs, nil, terms)[0].Proposal
		waits := len(p.Waits) > 0
		waited[waits]++
		require.Equal(t, saved < charge, waits, "%d against %d", saved, charge)
		require.Equal(t, waits, pieces(p, "cap") == 0)
		if waits {
			require.Equal(t, [2]programme.Money{charge, saved},
				[2]programme.Money{p.Waits[0].Charge, p.Waits[0].Missing})
		}
	}
	require.Len(t, waited, 2, "some wait, some do not")
}
