package wear

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme"
)

// The heavier a suspicion, the nearer its pieces age to what their endings say; others
// age as usual, and so do all where a change of all pieces weighs more.
func TestABadDeliveryAgesFasterByHowSureThatIs(t *testing.T) {
	class := Class{Cloth: "tee"}
	b := &Book{shop: &programme.Shop{Baselines: programme.DefaultBaselines()}, order: []Class{class}}
	learnt := map[Class]*Learnt{class: {Cloth: Posterior{Unit: 40,
		Nodes: []ShapeNode{{Shape: 2.5, Weight: 1, Rate: Gamma{10, 10}}}}}}
	piece := &programme.Piece{SKU: programme.SKU{Garment: "tee"}, Issued: 1010, Washes: 20, FromWashes: 10}
	factor := func(weight float64, delivery bool) float64 {
		var h History
		all := []Suspicion{{Delivery: delivery, Garment: "tee", From: 1000, To: 1028, Ended: 12, Expected: 4,
			Weight: weight, all: wornTally{100, 96}}}
		b.findBadDelivery(&h, all, learnt)
		require.InDelta(t, 1, h.Acceleration(&programme.Piece{SKU: programme.SKU{Garment: "polo"}, Issued: 1010}),
			1e-12)
		require.InDelta(t, 1, h.Acceleration(&programme.Piece{SKU: programme.SKU{Garment: "tee"}, Issued: 1028}), 1e-12)
		f := h.Acceleration(piece)
		require.InDelta(t, 20*f, h.aged(piece).Washes, 1e-9)
		return f
	}
	require.InDelta(t, 1, factor(3, true), 1e-12, "too little to go by")
	require.InDelta(t, 1, factor(9, false), 1e-12, "all pieces, not a delivery")
	sure, unsure := factor(20, true), factor(4.5, true)
	require.InDelta(t, 3, math.Pow(sure, 2.5), 0.6, "three times as many endings")
	require.InDelta(t, (sure-1)/2, unsure-1, 1e-6, "as likely bad as not")
	require.InDelta(t, 20, piece.Washes, 1e-12, "the piece itself stays as it is")
}
