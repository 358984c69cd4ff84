package desk_test

import (
	"context"
	"net/http"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

// Protective clothing is ordered from the desk by a person who says that it was looked
// at, in the numbers that they write, and by nobody else.
func TestProtectiveClothingIsAnsweredOnThePageOfItsClient(t *testing.T) {
	s := newShop(t)
	b := s.signedIn()
	b.get("/client/harbour")
	require.NotContains(t, b.text(), "Protective clothing", "no kit has any")

	g, ok := s.b.Shop.Garment("apron")
	require.True(t, ok)
	g.Protective, g.LabelWashes = programme.OtherPPE, 30
	b.get("/client/harbour")
	require.Contains(t, b.text(), "Protective clothing that waits for a yes")
	b.get("/client/harbour/held")
	require.Contains(t, b.text(), "ask the maker in writing")
	require.Contains(t, b.text(), "30 washes")
	require.Contains(t, b.text(), "Ada Brackenholt")

	b.press("held", "Yes, order these", "n:apron/black/one", "2")
	require.Equal(t, http.StatusUnprocessableEntity, b.status)
	require.Contains(t, b.notice(), "labels first")
	b.press("held", "Yes, order these", "looked", "yes", "n:apron/black/one", "0")
	require.Equal(t, http.StatusUnprocessableEntity, b.status)
	require.Contains(t, b.notice(), "or say no")
	form := b.fill("held", "Yes, order these", "looked", "yes", "n:apron/black/one", "2")
	b.send(form)
	require.Equal(t, http.StatusOK, b.status, b.notice())
	require.Contains(t, b.notice(), "Yes to 2 pieces of protective clothing")
	b.send(form)
	list, err := s.b.Store.Proposals(context.Background(), "harbour", reorder.Accepted)
	require.NoError(t, err)
	require.Len(t, list, 1, "twice is once")
	require.Equal(t, 2, list[0].Pieces())
	require.Contains(t, b.text(), "yes to 2 × ")

	b.press("undo", "Undo")
	list, err = s.b.Store.Proposals(context.Background(), "harbour", reorder.Accepted)
	require.NoError(t, err)
	require.Empty(t, list)
	b.get("/client/harbour/held")
	b.press("held", "No to all of it")
	require.Contains(t, b.notice(), "No to ")
	require.Contains(t, b.text(), "Nothing waits for a person's yes.")
}
