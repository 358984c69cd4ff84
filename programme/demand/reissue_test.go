package demand_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme"
)

func TestReturnedPiecesWithEnoughLifeLeftAreTold(t *testing.T) {
	in := crew(t)
	returned := func(washes float64, why programme.Reason) programme.Piece {
		return programme.Piece{StaffID: "z", SKU: programme.SKU{Garment: "tee", Size: "M"}, Washes: washes, Reason: why,
			Ended: asOf - 10}
	}
	in.History.Ended = []programme.Piece{
		returned(3, programme.LeftReason), returned(6, programme.SizeChange), returned(30, programme.LeftReason),
		returned(2, programme.Worn),
	}
	line := func() int {
		for _, l := range in.Muster(6).Lines {
			if l.Garment == "tee" && l.Size == "M" {
				return l.Reissuable
			}
		}
		return -1
	}
	require.Zero(t, line(), "the programme does not allow it")
	in.Client.ReissueLifeLeft = 0.5
	require.Equal(t, 2, line(), "one is too worn, one worn out")
	again := returned(5, programme.NoReason)
	again.Ended, again.StaffID, again.Reissued = 0, "a", true
	in.History.InService = append(in.History.InService, again)
	require.Equal(t, 1, line(), "one of them is out again")
}
