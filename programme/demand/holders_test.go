package demand_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/demand"
)

// Who hands the kit back on the last day is missing nothing: a whole kit
// ordered for somebody who is leaving today would be a plain mistake.
func TestALeaverIsOwedNothingOnTheLastDay(t *testing.T) {
	in := crew(t)
	in.Staff = append(in.Staff, programme.Person{StaffID: "z", Role: "yard", Start: asOf - 300,
		Sizes: map[string]string{"top": "M"}})
	z := &in.Staff[len(in.Staff)-1]
	owed := func() (missing []demand.Short) {
		for _, s := range in.Short() {
			if s.StaffID == "z" {
				missing = append(missing, s)
			}
		}
		return missing
	}
	require.Len(t, owed(), 2, "tees and vests of somebody who stays")
	z.End = asOf + 1
	require.Len(t, owed(), 2, "there is another day to dress for")
	z.End = asOf
	require.Empty(t, owed())
}
