package document

import (
	"strconv"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/clean"
	"github.com/kitmuster/kitmuster/programme/ledger"
)

// DaySheet is a list to write down what happens to a client's clothing in one week,
// for whoever keeps its records: a row for each person and garment, a column for each
// thing that can happen, and room at its foot. It is filled in on a screen or on paper.
type DaySheet struct {
	Head
	Week programme.Date // its first day
	Day  func(programme.Date) string
	Rows []DayRow // in the order of the sheet: the rows of a person together
	// How explains the sheet, a sentence a line.
	How []string
}

// DayRow is a person and a garment, in words.
type DayRow struct {
	Site, Role, Name, Garment, Colour, Size string
	OnRecord                                int
	StaffID                                 string
}

// daySpare are the rows at the foot of a day sheet.
const daySpare = 12

func (f *DaySheet) fillIn() *fillIn {
	out := &fillIn{
		shop: f.Shop, units: f.Units, sheet: "Days",
		title: "Day sheet of " + clean.Short(f.Client) + ", " + f.Day(f.Week) + " to " + f.Day(f.Week.Add(6)),
		back: "Write down what happens, and send it back to " + clean.Short(f.Shop) +
			" when the week is over. Nothing happened to a row: leave it empty.", label: ledger.WeekFrom, date: f.Week,
		asOf: f.Week, spare: daySpare, how: f.How,
	}
	sites := false
	for i := range f.Rows {
		sites = sites || f.Rows[i].Site != f.Rows[0].Site
	}
	columns := []fillColumn{{"Name", 24, who}, {"Role", 12, who}, {"Garment", 24, named}, {"Colour", 12, named},
		{"Size", 7, named}, {"On record", 8, shown}}
	if sites {
		columns = append([]fillColumn{{"Site", 14, who}}, columns...)
	}
	for _, c := range ledger.DayColumns {
		columns = append(columns, fillColumn{c.Heading, 8.5, written})
	}
	out.columns = append(columns, fillColumn{"No.", 8, quiet})
	out.group = len(out.columns) - 1
	for _, r := range f.Rows {
		cells := []string{r.Name, r.Role, r.Garment, r.Colour, r.Size, strconv.Itoa(r.OnRecord)}
		if sites {
			cells = append([]string{r.Site}, cells...)
		}
		cells = append(cells, make([]string, len(ledger.DayColumns))...)
		out.rows = append(out.rows, append(cells, r.StaffID))
	}
	return out
}

// XLSX writes the sheet as a workbook, with a second sheet that explains it.
func (f *DaySheet) XLSX() ([]byte, error) { return f.fillIn().XLSX() }
