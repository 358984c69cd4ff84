package wear_test

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme/wear"
)

func TestAReportSaysWhatWasLearntAndWhatEndsPiecesFirst(t *testing.T) {
	cloth, print := wear.FromMedian(52, 2.5), wear.FromMedian(30, 3)
	shop, client := smallShop()
	book, err := wear.NewBook(shop, client, nil)
	require.NoError(t, err)
	moves := invented(rand.New(rand.NewPCG(4, 5)), cloth, print, 0.2, 60, 0.2)
	k := book.Learn(book.Trace(nil, moves, monday.Add(900)), monday.Add(900))[book.Classes()[0].Class]

	r := k.Report(7)

	require.Equal(t, "cotton-tee-carded with plastisol", r.Name)
	require.InDelta(t, 55, r.Causes[1].Baseline, 1e-9)
	require.InEpsilon(t, 30, r.Causes[1].Washes.Median, 0.1, "prints die early here, and the records say so")
	require.Less(t, r.Causes[1].Washes.Low, r.Causes[1].Washes.Median)
	require.Less(t, r.Causes[1].Washes.Median, r.Causes[1].Washes.High)
	require.InDelta(t, r.Piece.Washes.Median/7/4.348, r.Piece.Months.Median, 0.01)
	require.InDelta(t, 1, r.First.Worn+r.First.Print+r.First.Mishap, 1e-4)
	require.Greater(t, r.First.Print, r.First.Worn)
	require.Greater(t, r.Piece.Before, r.Piece.Washes.High, "the catalogue had hoped for more")
	require.Equal(t, r.Evidence.Replaced(), r.Evidence.Worn+r.Evidence.Print+r.Evidence.Mishap+r.Evidence.Unexplained)

	// The curve learnt runs through the records' steps.
	for _, s := range r.Picture.Steps {
		if s.AtRisk < 100 {
			continue
		}
		for i := 1; i < len(r.Picture.After); i++ {
			a, b := r.Picture.After[i-1], r.Picture.After[i]
			if a.Washes <= s.Washes && s.Washes < b.Washes {
				require.InDelta(t, s.Survival, (a.Survival+b.Survival)/2, 0.06)
			}
			require.LessOrEqual(t, b.Survival, a.Survival+1e-12)
			require.LessOrEqual(t, b.Lower, b.Upper)
		}
	}
}
