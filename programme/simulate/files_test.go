package simulate_test

import (
	"bytes"
	"encoding/csv"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme/simulate"
)

func TestFilesHoldEveryRow(t *testing.T) {
	w := simulate.NewWorld(asOf, simulate.Seed(1))
	c := w.Cases[0]
	for want, file := range map[int][]byte{
		1 + len(c.Roster): simulate.RosterCSV(c.Roster),
		1 + len(c.Ledger): simulate.LedgerCSV(c.Ledger),
		1 + len(w.Stock):  simulate.StockCSV(w.Stock),
	} {
		rows, err := csv.NewReader(bytes.NewReader(file)).ReadAll()
		require.NoError(t, err)
		require.Len(t, rows, want)
	}
	require.Equal(t, "staff_id,name,role,site,start_date,end_date,size_top", string(bytes.SplitN(simulate.RosterCSV(c.Roster), []byte("\n"), 2)[0]))
}
