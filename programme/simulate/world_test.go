package simulate_test

import (
	"fmt"
	"strings"
	"testing"
	"unicode"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/simulate"
)

var asOf = programme.NewDate(2026, 3, 2)

func TestTheSameSeedGivesTheSameWorld(t *testing.T) {
	a, b := simulate.NewWorld(asOf, simulate.Seed(1)), simulate.NewWorld(asOf, simulate.Seed(1))
	require.Equal(t, fmt.Sprint(a), fmt.Sprint(b))
	require.NotEqual(t, fmt.Sprint(a), fmt.Sprint(simulate.NewWorld(asOf, simulate.Seed(2))))
}

func TestTheDemoShopHasSevenTradesOfManySizes(t *testing.T) {
	w := simulate.NewWorld(asOf, simulate.Seed(simulate.DemoSeed))
	require.Len(t, w.Cases, 7)
	smallest, largest := 1000, 0
	for _, c := range w.Cases {
		heads := active(c.Roster)
		smallest, largest = min(smallest, heads), max(largest, heads)
		t.Logf("%-12s %3d staff, %3d ever, %5d rows, %d pieces", c.Client.Code, heads, len(c.Roster), len(c.Ledger),
			pieces(c.Ledger))
	}
	require.LessOrEqual(t, smallest, 9)
	require.GreaterOrEqual(t, largest, 90)
	require.Greater(t, scripts(w), 5, "names in several scripts")
}

func active(roster []programme.Person) int {
	n := 0
	for i := range roster {
		if roster[i].ActiveOn(asOf) {
			n++
		}
	}
	return n
}

func pieces(ledger []programme.Movement) int {
	held := 0
	for _, n := range balance(ledger) {
		held += n
	}
	return held
}

func scripts(w simulate.World) int {
	seen := map[string]bool{}
	for _, c := range w.Cases {
		for _, p := range c.Roster {
			for name, table := range unicode.Scripts {
				if name != "Common" && strings.IndexFunc(p.Name,
					func(r rune) bool { return unicode.Is(table, r) }) >= 0 {
					seen[name] = true
				}
			}
		}
	}
	return len(seen)
}

type slot struct {
	staff string
	sku   programme.SKU
}

// balance is what each person holds by the ledger: a count sets it.
func balance(ledger []programme.Movement) map[slot]int {
	held := map[slot]int{}
	for _, m := range ledger {
		at := slot{m.StaffID, m.SKU}
		switch m.Kind {
		case programme.Issued:
			held[at] += m.Pieces
		case programme.Ended:
			held[at] -= m.Pieces
		case programme.Counted:
			held[at] = m.Pieces
		}
	}
	return held
}

func TestLedgersAddUp(t *testing.T) {
	w := simulate.NewWorld(asOf, simulate.Seed(3))
	for _, c := range w.Cases {
		people := map[string]programme.Person{}
		for _, p := range c.Roster {
			people[p.StaffID] = p
		}
		held, last := map[slot]int{}, programme.Date(0)
		for i, m := range c.Ledger {
			require.GreaterOrEqual(t, m.Date, last, "rows in order of days")
			last = m.Date
			p, known := people[m.StaffID]
			require.True(t, known, "row %d names nobody on the roster", i)
			require.True(t, p.ActiveOn(m.Date), "%s row %d: %v moves on %v, outside %v to %v", c.Client.Code, i,
				m.StaffID, m.Date, p.Start, p.End)
			require.LessOrEqual(t, m.Date, asOf)
			checkRow(t, held, m)
		}
		for at, n := range held {
			p := people[at.staff]
			if !p.ActiveOn(asOf) {
				require.Zero(t, n, "%v left with pieces", at)
			}
		}
	}
}

func checkRow(t *testing.T, held map[slot]int, m programme.Movement) {
	t.Helper()
	at := slot{m.StaffID, m.SKU}
	switch m.Kind {
	case programme.Issued:
		held[at] += m.Pieces
	case programme.Ended:
		require.GreaterOrEqual(t, held[at], m.Pieces, "more ended than held: %+v", m)
		held[at] -= m.Pieces
	case programme.Counted:
		require.GreaterOrEqual(t, held[at], m.Pieces, "counted more than held: %+v", m)
		held[at] = m.Pieces
	}
}

// The kits must be drawn from what exists, or every later step would refuse them.
func TestEveryReferenceResolves(t *testing.T) {
	w := simulate.NewWorld(asOf, simulate.Seed(1))
	for _, c := range w.Cases {
		_, ok := w.Shop.Manager(c.Client.Manager)
		require.True(t, ok)
		for _, role := range c.Client.Roles {
			for _, line := range role.Kit {
				g, ok := w.Shop.Garment(line.Garment)
				require.True(t, ok, line.Garment)
				require.Contains(t, g.Colours, line.Colour)
				_, ok = c.Client.PriceOf(g.Code, "M", 0)
				require.True(t, ok, "%s has no price for %s", c.Client.Code, g.Code)
				for _, d := range line.Decorations {
					a, ok := w.Shop.Artwork(d.Artwork)
					require.True(t, ok, d.Artwork)
					require.Equal(t, c.Client.Code, a.Client)
				}
			}
		}
		for _, m := range c.Ledger {
			g, _ := w.Shop.Garment(m.SKU.Garment)
			_, ok := g.Size(m.SKU.Size)
			require.True(t, ok, m.SKU)
		}
	}
}
