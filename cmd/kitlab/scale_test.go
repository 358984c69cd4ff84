package main

import (
	"context"
	"io"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme/simulate"
)

// BenchmarkRoundByClients compares a round over four times as many clients of the same
// make with four times a round over the few: about 1 "of-linear" where nothing grows
// faster than their number, such as what is done for each client with every other.
func BenchmarkRoundByClients(b *testing.B) {
	l := &lab{out: io.Discard}
	seconds := func(clients int) float64 {
		size := simulate.Size{Clients: clients, Staff: 12 * clients, Pieces: 60 * clients, Weeks: 26}
		s, err := l.measureScale(context.Background(), size, 0, nil, "")
		require.NoError(b, err)
		return s
	}
	few, many := 0.0, 0.0
	for b.Loop() {
		few += seconds(240)
		many += seconds(960)
	}
	b.ReportMetric(many/few/4, "of-linear")
}
