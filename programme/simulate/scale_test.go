package simulate_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme/simulate"
)

func TestScaleKeepsTheAskedNumbers(t *testing.T) {
	size := simulate.Size{Clients: 20, Staff: 2000, Pieces: 20000, Weeks: 52}
	_, cases := simulate.NewScale(size, asOf, 1)
	clients, staff, held := 0, 0, 0
	for c := range cases {
		clients++
		staff += active(c.Roster)
		held += pieces(c.Ledger)
	}
	require.Equal(t, size.Clients, clients)
	require.InEpsilon(t, size.Staff, staff, 0.15)
	require.InEpsilon(t, size.Pieces, held, 0.1)
}

func TestScaleGivesTheSameClientsAtEveryPass(t *testing.T) {
	_, cases := simulate.NewScale(simulate.Size{Clients: 3, Staff: 60, Pieces: 600, Weeks: 20}, asOf, 1)
	var first []simulate.Case
	for c := range cases {
		first = append(first, c)
	}
	i := 0
	for c := range cases {
		require.Equal(t, first[i], c)
		i++
	}
}

// A million pieces in service with a year of records.
func BenchmarkScaleMillion(b *testing.B) {
	for range b.N {
		_, cases := simulate.NewScale(simulate.Size{Clients: 1000, Staff: 100000, Pieces: 1000000, Weeks: 52}, asOf, 1)
		held, rows := 0, 0
		for c := range cases {
			held += pieces(c.Ledger)
			rows += len(c.Ledger)
		}
		b.ReportMetric(float64(held), "pieces")
		b.ReportMetric(float64(rows), "rows")
	}
}
