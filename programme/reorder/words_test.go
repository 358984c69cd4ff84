package reorder_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

func TestEveryReasonIsASentence(t *testing.T) {
	name := func(k programme.SKU) string { return "tee, black, " + k.Size }
	for kind, want := range map[reorder.ReasonKind]string{
		reorder.OwedNow:      "3 pieces of tee, black, M missing from somebody's kit today, with none on the shelf.",
		reorder.HandOut:      "3 pieces of tee, black, M missing from somebody's kit today, and on the shelf: hand them out.",
		reorder.ShortestLine: "About 3 pieces of tee, black, M would be short by then.",
		reorder.ComesTooLate: "3 pieces of tee, black, M on order, but they come too late.",
		reorder.WaitsForAYes: "3 pieces of tee, black, M needed; protective clothing waits for a person's yes.",
	} {
		require.Equal(t, want, reorder.Reason{Kind: kind, SKU: sku("tee", "M"), Pieces: 3}.Words(name))
	}
	for _, kind := range []reorder.ReasonKind{
		reorder.BelowTarget, reorder.AboveTarget, reorder.NothingToBuy, reorder.NoDemand, reorder.PulledForward,
	} {
		require.Regexp(t, `^[A-Z].*\.$`, reorder.Reason{Kind: kind}.Words(name))
	}
	require.Equal(t, "About 0.4 pieces of tee, black, M would be short by then.", reorder.Reason{Kind: reorder.ShortestLine, SKU: sku("tee", "M"), Pieces: 0.4}.Words(name))
	require.Contains(t, reorder.Reason{Kind: reorder.OwedNow, SKU: sku("tee", "M"), Pieces: 1}.Words(name), "1 piece of")
}
