package desk_test

import (
	"net/http"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/daemon/books/bookstest"
	"github.com/kitmuster/kitmuster/programme"
)

// inTwoCuts is the small shop's desk, where harbour's baristas wear the polo in a ladies'
// cut too.
func inTwoCuts(t *testing.T) *shop {
	t.Helper()
	return open(t, bookstest.NewInTwoCuts(t, ""))
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
	require.Contains(t, b.notice(),
		"and so wears Ladies' polo; for the other cut choose none under Size, ladies-top as well")
	require.Equal(t, "M", s.person("harbour", "0001").Sizes["top"], "nothing was entered")
	b.get(ada)
	b.press("size", "Exchange", "size-top", "L", "size-ladies-top", programme.NoSize)
	require.Equal(t, http.StatusOK, b.status, b.notice())
	require.Empty(t, s.person("harbour", "0001").Sizes["ladies-top"])
	require.Equal(t, "L", s.person("harbour", "0001").Sizes["top"])

	b.get("/client/harbour/start")
	require.Contains(t, b.text(), "for who wears Ladies' polo")
}
