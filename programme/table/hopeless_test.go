package table_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/table"
)

// A list of which every row is wrong is not told row by row: what it says has the
// same size however long it is.
func TestAListThatIsWrongThroughoutIsRefusedAsAWhole(t *testing.T) {
	form := &table.Form[string]{Columns: []table.Column[string]{
		{Name: "name", Required: true, Read: func(c table.Cell, row *string) { *row = c.Word() }},
		{Name: "pieces", Required: true, Missing: "how many is missing", Read: func(c table.Cell, _ *string) {
			if _, ok := c.Whole(); !ok {
				c.Wrong("but pieces are a whole number")
			}
		}},
	}}
	read := func(wrong int) (*table.List[string], error) {
		data := "name,pieces\nApron,4\n" + strings.Repeat("Shirt,many\n", wrong)
		return table.Read("pieces.csv", []byte(data), table.Options{Latest: programme.NewDate(2026, 3, 2)}, form)
	}
	list, err := read(10_000)
	require.Equal(t, []string{"Apron"}, list.Rows)
	var errs table.Errors
	require.ErrorAs(t, err, &errs)
	require.Len(t, errs, 10_000, "so many can be mended")

	list, err = read(500_000)
	require.Nil(t, list)
	require.ErrorAs(t, err, &errs)
	require.Len(t, errs, 21)
	require.EqualError(t, errs[0], "pieces.csv: 500000 things are wrong with it, more than the 10000 that could be mended row by row; look at the first, which follow: perhaps the heading, the dates or the whole list is another.")
	require.EqualError(t, errs[1], `pieces.csv line 3, column pieces: read "many", but pieces are a whole number.`)
}
