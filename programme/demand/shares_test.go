package demand

import (
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme"
)

// A cause that is learnt with another has its part of the chance, as the records share it.
func TestCausesLearntTogetherShareTheChanceAsTheRecordsDo(t *testing.T) {
	withWorn := func(programme.Cause) programme.Cause { return programme.CauseWorn }
	h := byCause{programme.CauseWorn: 1}
	h.share(sharesOf(programme.Endings[int]{Worn: 6, Print: 3, Mishap: 1}, withWorn))
	require.InDeltaSlice(t, []float64{0.6, 0.3, 0.1}, h[:3], 1e-12)
	require.Empty(t, sharesOf(programme.Endings[int]{Worn: 5}, withWorn), "no ending of it on record: no part in it")
	require.Empty(t, sharesOf(programme.Endings[int]{Worn: 5, Print: 3},
		func(c programme.Cause) programme.Cause { return c }))
}
