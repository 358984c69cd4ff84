package study_test

import (
	"maps"
	"os"
	"sort"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/cmd/kitlab/internal/market"
	"github.com/kitmuster/kitmuster/cmd/kitlab/internal/study"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/reorder"
	"github.com/kitmuster/kitmuster/programme/simulate"
)

// proposed is what a client was proposed on a day, with what people wore then.
type proposed struct {
	*reorder.Proposal
	people int
	worn   map[programme.SKU]bool
}

// live lets a client live for some weeks under the program's proposals.
func live(st *market.Study, s *market.Subject, weeks int,
	by func(seen func(*reorder.Proposal, *reorder.Decision)) market.Policy) (list []proposed) {
	var made *reorder.Proposal
	way := by(func(p *reorder.Proposal, _ *reorder.Decision) { made = p })
	s.Run(market.Policy(func(v *market.View) market.Decision {
		made = nil
		d := way(v)
		if made != nil {
			people, worn := wearing(st, s, v)
			list = append(list, proposed{made, people, worn})
		}
		return d
	}), weeks)
	return list
}

// wearing counts who is there, and says which sizes they wear: those of the
// roster, by another road than the program's, which goes by pieces held and owed.
func wearing(st *market.Study, s *market.Subject, v *market.View) (people int, worn map[programme.SKU]bool) {
	worn = map[programme.SKU]bool{}
	there := map[string]bool{}
	for _, p := range v.Roster() {
		if !p.ActiveOn(v.AsOf) {
			continue
		}
		people++
		there[p.StaffID] = true
		role, _ := s.Client.Role(p.Role)
		for _, k := range role.Kit {
			g, _ := st.Shop.Garment(k.Garment)
			size := p.Sizes[g.SizeFamily]
			if len(g.Sizes) == 1 {
				size = g.Sizes[0].Code
			}
			worn[programme.SKU{Garment: k.Garment, Colour: k.Colour, Size: size}] = true
		}
	}
	for _, m := range v.Ledger { // a size that is not stocked is worn as its neighbour
		if m.Kind == programme.Issued && there[m.StaffID] {
			worn[m.SKU] = true
		}
	}
	return people, worn
}

const fourWeeks = 28

// A bakery of 6, a practice of 17 and, in the long form, the clients of the demo
// live on under the program's proposals. They ask for no pool.
func TestClientsAreProposedLittleAndRarely(t *testing.T) {
	few, weeks, seeds := 2, 78, []uint64{1, 2, 3}
	if os.Getenv("KITMUSTER_FULL") == "1" {
		few, weeks, seeds = 9, 156, []uint64{1, 2, 3}
	}
	// By client, over its runs.
	aYear := make([]float64, few)
	for _, seed := range seeds {
		st := market.NewHouse(simulate.AroundPrior, programme.NewDate(2024, 3, 4), seed)
		for i := range few {
			s := &st.Subjects[len(st.Subjects)-few+i]
			s.Terms.LeadDays = 7 * ((reorder.LeadOfClient(&st.Shop, &s.Client).Days() + 6) / 7)
			list := live(&st, s, weeks, func(seen func(*reorder.Proposal, *reorder.Decision)) market.Policy {
				return study.Proposing(&st, s, seen)
			})
			sensible(t, s.Client.Code, list)
			aYear[i] += float64(len(list)) / float64(weeks*len(seeds)) * 52
			t.Logf("%s: %d proposals in %d weeks", s.Client.Code, len(list), weeks)
		}
	}
	sort.Float64s(aYear)
	require.LessOrEqual(t, aYear[len(aYear)/2], 4+1e-9, "proposals a client and year, on the median over clients")
}

func sensible(t *testing.T, client string, list []proposed) {
	t.Helper()
	require.NotEmpty(t, list, client)
	for i, p := range list {
		named := 0
		for _, n := range p.Named {
			named += n.Pieces
		}
		if p.people < 20 {
			require.LessOrEqual(t, float64(p.Pieces()-named), 0.2*float64(p.Pieces()),
				"%s on %s: for nobody, of %d pieces", client, p.AsOf, p.Pieces())
		}
		for _, l := range p.Lines {
			require.True(t, p.worn[l.SKU] || l.Order == 0, "%s on %s: nobody wears %v", client, p.AsOf, l.SKU)
		}
		require.Equal(t, p.Pieces()-named, suggested(p.Curve).Unnamed, "%s on %s: the plans say the same",
			client, p.AsOf)
		if i > 0 && p.AsOf.Sub(list[i-1].AsOf) < fourWeeks {
			require.NotEmpty(t, p.Events, "%s on %s, %d days after the last: what has happened", client, p.AsOf,
				p.AsOf.Sub(list[i-1].AsOf))
		}
	}
}

// The practice has a shelf of blanks from a remainder sale, some in sizes that nobody
// wears. They are used before any are bought, and are no reason to press more
// of them, or any that nobody wears.
func TestAShelfOfBlanksIsUsedUpAndTemptsNobody(t *testing.T) {
	st := market.NewHouse(simulate.AroundPrior, programme.NewDate(2024, 3, 4), 1)
	s := &st.Subjects[len(st.Subjects)-1]
	s.Terms.LeadDays = 7 * ((reorder.LeadOfClient(&st.Shop, &s.Client).Days() + 6) / 7)
	blanks := map[programme.SKU]int{}
	for _, garment := range []string{"tunic", "polo", "tee"} {
		g, ok := st.Shop.Garment(garment)
		require.True(t, ok)
		for _, k := range s.Client.KitLines(garment) {
			for _, size := range g.Sizes {
				blanks[programme.SKU{Garment: garment, Colour: k.Colour, Size: size.Code}] = 6
			}
		}
	}
	left := maps.Clone(blanks)
	used := 0
	list := live(&st, s, 104, func(seen func(*reorder.Proposal, *reorder.Decision)) market.Policy {
		return study.WithBlanks(&st, s, blanks, seen)
	})
	sensible(t, s.Client.Code, list)
	for _, p := range list {
		for _, l := range p.Lines {
			require.Equal(t, min(left[l.SKU], l.Order), l.BlanksOnShelf, "%s %v: what lies there goes first",
				p.AsOf, l.SKU)
			require.Equal(t, l.Order+l.StayBlank, l.BlanksOnShelf+l.Buy)
			left[l.SKU] -= l.BlanksOnShelf
			used += l.BlanksOnShelf
		}
	}
	require.Equal(t, left, blanks)
	require.Positive(t, used)

	bare := live(&st, s, 104, func(seen func(*reorder.Proposal, *reorder.Decision)) market.Policy {
		return study.Proposing(&st, s, seen)
	})
	require.Equal(t, pieces(bare), pieces(list), "a shelf of blanks alone is no reason for more")
}

func pieces(list []proposed) (n int) {
	for _, p := range list {
		n += p.Pieces()
	}
	return n
}

func suggested(curve []reorder.Choice) reorder.Choice {
	for _, c := range curve {
		if c.Kind == reorder.Suggested {
			return c
		}
	}
	return reorder.Choice{}
}
