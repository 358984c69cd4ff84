package table_test

import (
	"fmt"
	"os"
	"strconv"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/table"
)

// A list is said once, as columns that are read into rows and written from them.
func Example() {
	type fitting struct {
		on    programme.Date
		chest int
	}
	form := &table.Form[fitting]{Columns: []table.Column[fitting]{
		{Name: "day", Required: true, Date: func(f *fitting) *programme.Date { return &f.on }},
		{Name: "chest", Required: true, Also: []string{"bust"},
			Read: func(c table.Cell, f *fitting) {
				var err error
				if f.chest, err = strconv.Atoi(c.Text()); err != nil {
					c.Wrong("which is no whole number of centimetres")
				}
			},
			Write: func(f *fitting) string { return strconv.Itoa(f.chest) }},
	}}
	list, err := table.Read("fittings.csv", []byte("Day;Chest\n14.3.2026;96\n2.4.2026;ample\n"), table.Options{}, form)
	fmt.Println(err)
	_ = form.Write(os.Stdout, list.Rows)
	// Output:
	// fittings.csv line 3, column Chest: read "ample", which is no whole number of centimetres.
	// day,chest
	// 2026-03-14,96
}
