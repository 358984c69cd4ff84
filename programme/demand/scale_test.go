package demand_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/demand"
	"github.com/kitmuster/kitmuster/programme/simulate"
	"github.com/kitmuster/kitmuster/programme/wear"
)

// BenchmarkClient is the wear and demand of a round for one client of 100
// staff and 1,000 pieces in service with two years of records: reading the
// ledger, learning, and both horizons. Reported per piece in service.
func BenchmarkClient(b *testing.B) {
	const clients = 8
	shop, cases := simulate.NewScale(simulate.Size{Clients: clients, Staff: 100 * clients, Pieces: 1000 * clients,
		Weeks: 104}, programme.NewDate(2026, 6, 1), 1)
	var all []simulate.Case
	for c := range cases {
		all = append(all, c)
	}
	arts := shop.Artworks
	b.ReportAllocs()
	pieces := 0
	for i := 0; b.Loop(); i++ {
		c := &all[i%clients]
		shop.Artworks = arts[2*(i%clients) : 2*(i%clients)+2]
		in, err := demand.Prepare(&shop, &c.Client, c.Roster, c.Ledger, nil, nil, programme.NewDate(2026, 6, 1))
		require.NoError(b, err)
		m := in.Forecast(28, 98)
		pieces += len(m[1].Pieces)
	}
	b.ReportMetric(float64(b.Elapsed().Microseconds())/float64(pieces), "us/piece")
}

// BenchmarkExperience is what a shop of 100,000 pieces in service learns from
// all of its clients together: the first of the two levels.
func BenchmarkExperience(b *testing.B) {
	asOf := programme.NewDate(2026, 6, 1)
	const clients = 100
	shop, cases := simulate.NewScale(simulate.Size{Clients: clients, Staff: 100 * clients, Pieces: 1000 * clients,
		Weeks: 104}, asOf, 1)
	var all []wear.Records
	pieces := 0
	arts := shop.Artworks
	for c := range cases {
		shop.Artworks = arts[2*len(all) : 2*len(all)+2]
		book, err := wear.NewBook(&shop, &c.Client, nil)
		require.NoError(b, err)
		h := book.Trace(c.Roster, c.Ledger, asOf)
		pieces += len(h.InService)
		all = append(all, wear.Records{Book: book, Learnt: book.Learn(h, asOf)})
	}
	b.ReportAllocs()
	for b.Loop() {
		wear.Gather(all)
	}
	b.ReportMetric(float64(b.Elapsed().Microseconds())/float64(b.N*pieces), "us/piece")
}
