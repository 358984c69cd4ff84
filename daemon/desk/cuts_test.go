package desk_test

import (
	"bytes"
	"net/http"
	"os"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/daemon/books/bookstest"
	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/programme"
)

// inTwoCuts is the small shop's desk, where harbour's baristas wear the polo in a ladies'
// cut too.
func inTwoCuts(t *testing.T) *shop {
	t.Helper()
	b := bookstest.New(t)
	polo, ok := b.Shop.Garment("polo")
	require.True(t, ok)
	ladies := *polo
	ladies.Code, ladies.Name, ladies.SizeFamily = "polo-ladies", "Ladies' polo", "ladies-top"
	b.Shop.Garments = append(b.Shop.Garments, ladies)
	text, err := os.ReadFile("../../testdata/bakery/harbour.yaml")
	require.NoError(t, err)
	const apron = "      - {garment: apron, colour: black, each: 2, wears_a_week: 5}\n"
	cut := bytes.Replace(text, []byte(apron), []byte("      - {garment: polo-ladies, colour: navy, each: 3, wears_a_week: 5, cut_of: polo/navy}\n"+apron), 1)
	require.NotEqual(t, text, cut)
	s := open(t, b)
	s.tx(func(tx *store.Tx) { require.NoError(t, tx.PutClient("harbour", cut)) })
	return s
}

// The page of a person says for whom each size is, and how somebody changes cut and back.
func TestACutIsChangedOnThePageOfThePerson(t *testing.T) {
	s := inTwoCuts(t)
	b := s.signedIn()
	b.get(ada)
	require.Contains(t, b.text(), "for who wears Ladies' polo")
	require.NotContains(t, b.text(), "none: wears the other cut", "who has no ladies' size has none to give up")
	b.press("size", "Exchange", "size-ladies-top", "S")
	require.Equal(t, http.StatusOK, b.status, b.notice())
	require.Equal(t, "S", s.person("harbour", "0001").Sizes["ladies-top"])

	b.get(ada)
	require.Contains(t, b.text(), "none: wears the other cut")
	b.press("size", "Exchange", "size-top", "L")
	require.Equal(t, http.StatusUnprocessableEntity, b.status)
	require.Contains(t, b.notice(), "and so wears Ladies' polo; for the other cut choose none under Size, ladies-top as well")
	require.Equal(t, "M", s.person("harbour", "0001").Sizes["top"], "nothing was entered")
	b.get(ada)
	b.press("size", "Exchange", "size-top", "L", "size-ladies-top", programme.NoSize)
	require.Equal(t, http.StatusOK, b.status, b.notice())
	require.Empty(t, s.person("harbour", "0001").Sizes["ladies-top"])
	require.Equal(t, "L", s.person("harbour", "0001").Sizes["top"])

	b.get("/client/harbour/start")
	require.Contains(t, b.text(), "for who wears Ladies' polo")
}
