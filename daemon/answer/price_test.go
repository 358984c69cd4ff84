package answer_test

import (
	"context"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/daemon/answer"
	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

// A yes on the day before a new price is at the old one; on its day, in time as it
// may be, it is worked out anew.
func TestAYesIsAtThePricesOfItsDay(t *testing.T) {
	for _, c := range []struct {
		day   programme.Date
		price programme.Money
	}{{monday + 2, 11 * 2000}, {monday + 3, 11 * 2300}} {
		d := newDesk(t)
		d.client.Prices = []programme.Price{{Garment: "tee", Price: 2000},
			{Garment: "tee", Price: 2300, From: monday + 3}}
		d.tx(t, func(tx *store.Tx) error {
			p, err := tx.Proposal(d.number)
			require.NoError(t, err)
			p.PriceAnew(d.client)
			require.Equal(t, programme.Money(11*2000), p.Price)
			return tx.PutProposalBody(&p)
		})
		var out answer.Outcome
		require.NoError(t, d.store.InTx(context.Background(), func(tx *store.Tx) (err error) {
			out, err = answer.Record(tx, d.shop, d.client, answer.Answer{Number: d.number, Event: reorder.Accept,
				Day: c.day}, 0, nil)
			return err
		}))
		require.Equal(t, c.price, out.Proposal.Price, c.day.String())
		require.Equal(t, c.price != 11*2000, out.Anew)
	}
}
