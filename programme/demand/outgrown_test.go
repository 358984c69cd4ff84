package demand_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/demand"
)

// sized is what Muster says of one line.
func sized(m *demand.Muster, garment, size string) demand.Line {
	for _, l := range m.Lines {
		if l.Garment == garment && l.Size == size {
			return l
		}
	}
	return demand.Line{}
}

// Somebody with a full kit of M who wears L from today on keeps what they have:
// it is still M, it is worn on, and three of L are owed in exchange.
func TestPiecesKeepTheirSizeAndTheNewOneIsOwed(t *testing.T) {
	in := crew(t)
	who, family := "", "top"
	held := 0
	for i := range in.Staff {
		n := 0
		for _, p := range in.History.InService {
			if p.StaffID == in.Staff[i].StaffID && p.SKU.Garment == "tee" && p.SKU.Size == in.Staff[i].Sizes[family] {
				n++
			}
		}
		if n > 0 && in.Staff[i].Sizes[family] == "M" {
			who, held = in.Staff[i].StaffID, n
			break
		}
	}
	require.NotEmpty(t, who)
	before := in.Muster(6)
	for i := range in.Staff {
		if in.Staff[i].StaffID == who {
			in.Staff[i].Resize(family, "L", false)
		}
	}
	after := in.Muster(6)
	each := in.Client.Roles[0].Kit[0].Each
	require.Equal(t, sized(&before, "tee", "L").Owed+each, sized(&after, "tee", "L").Owed)
	require.Less(t, sized(&after, "tee", "M").Mean, sized(&before, "tee", "M").Mean,
		"nothing of the old size replaces them")
	seen := 0
	for _, o := range after.Pieces {
		if o.StaffID == who && o.Garment == "tee" {
			require.Equal(t, "M", o.Size, "pieces are not relabelled")
			require.Zero(t, o.PEnd)
			seen++
		}
	}
	require.Equal(t, held, seen)
	require.Contains(t, in.Short(), demand.Short{StaffID: who, SKU: programme.SKU{Garment: "tee", Size: "L"},
		Pieces: each})

	// Where what they hold still fits, it only is replaced by the new size.
	for i := range in.Staff {
		if in.Staff[i].StaffID == who {
			in.Staff[i].Outgrown = nil
		}
	}
	kept := in.Muster(6)
	require.Equal(t, sized(&before, "tee", "L").Owed, sized(&kept, "tee", "L").Owed)
	for _, o := range kept.Pieces {
		if o.StaffID == who && o.Garment == "tee" {
			require.Equal(t, "M", o.Size)
			require.Equal(t, "L", o.Replacement().Size)
			require.Positive(t, o.PEnd)
		}
	}
}
