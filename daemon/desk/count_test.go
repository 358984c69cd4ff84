package desk_test

import (
	"context"
	"net/http"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/daemon/books/bookstest"
	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/programme"
)

// A count form that came on paper is entered on its page: the rows that are missing, those that are filled in
// as one entry, which one undo takes back.
func TestACountIsEnteredOnThePageOfItsClient(t *testing.T) {
	s := newShop(t)
	asks := []store.CountAsk{{StaffID: "0001", SKU: bookstest.PoloM}, {StaffID: "0002", SKU: bookstest.PoloL}}
	s.tx(func(tx *store.Tx) {
		plan := store.CountPlan{Client: "harbour", Announced: s.today - 14, SendOn: s.today - 7, ReturnBy: s.today + 3,
			Asks: store.CountAsks{Rows: asks}}
		require.NoError(t, tx.AddCountPlan(&plan))
		_, err := tx.AddCountForm("harbour", s.today-7)
		require.NoError(t, err)
	})
	b := s.signedIn()
	b.get("/")
	require.Contains(t, b.text(), "0 of 2 rows came")
	b.get("/client/harbour/count")
	require.Contains(t, b.text(), "Ada Brackenholt")
	before := len(s.moves("harbour"))

	b.press("count", "Enter the count")
	require.Equal(t, http.StatusUnprocessableEntity, b.status)
	require.Contains(t, b.notice(), "0 is a count too")
	b.press("count", "Enter the count", "n:0001:polo/navy/M", "none")
	require.Equal(t, http.StatusUnprocessableEntity, b.status)
	form := b.fill("count", "Enter the count", "n:0001:polo/navy/M", "1", "n:0002:polo/navy/L", "0")
	b.send(form)
	require.Equal(t, http.StatusOK, b.status, b.notice())
	require.Contains(t, b.notice(), "ounted 2 rows")
	require.Contains(t, b.text(), "Every row of the count form is here.")
	b.send(form)
	moves := s.moves("harbour")
	require.Len(t, moves, before+2, "twice is once")
	plan, ok, err := s.b.Store.LastCountPlan(context.Background(), "harbour", s.today)
	require.NoError(t, err)
	require.True(t, ok)
	require.Equal(t, 2, plan.Came(moves, s.today))
	b.get("/")
	require.NotContains(t, b.text(), "rows came")

	b.get("/client/harbour/count")
	b.press("undo", "Undo")
	require.Len(t, s.moves("harbour"), before)
}

// Where no form is out, all that people hold can be counted; the page of a person takes a garment that nobody wrote
// down.
func TestAPieceThatNobodyWroteDownIsCounted(t *testing.T) {
	s := newShop(t)
	b := s.signedIn()
	b.get("/client/harbour/count")
	require.Contains(t, b.text(), "No count form is out.")
	b.get(ada)
	b.press("count", "Enter the count")
	require.Equal(t, http.StatusUnprocessableEntity, b.status)
	b.press("count", "Enter the count", "what", "polo/navy/M", "pieces", "40")
	require.Equal(t, http.StatusOK, b.status, b.notice())
	require.Contains(t, b.notice(), "if more were issued, enter those too")
	moves := s.moves("harbour")
	last := moves[len(moves)-1]
	require.Equal(t, programme.Counted, last.Kind)
	require.Equal(t, 40, last.Pieces)
	require.Contains(t, b.text(), "40 × ")
}
