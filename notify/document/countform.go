package document

import (
	"slices"
	"strconv"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/clean"
	"github.com/kitmuster/kitmuster/programme/ledger"
)

// CountForm is a list to count by, for one place of one client: who it is for and
// until when, one day for all of it, a row for each person and garment, and room
// for what is not on it. Whoever fills it in sees plain words only; the import
// knows its headings.
type CountForm struct {
	Head
	Site     string         // empty = all places
	ReturnBy programme.Date // no date leaves it out
	Day      func(programme.Date) string
	Rows     []CountRow // in the order of the form: places together, and roles in them
	// How explains the form, a sentence a line.
	How []string
}

// CountRow is a person and a garment, in words.
type CountRow struct {
	Site, Role, Name, Garment, Colour, Size string
	OnRecord                                int
	StaffID                                 string
}

// spareRows are for people and garments that are not on the list.
const spareRows = 8

func (f *CountForm) fillIn() *fillIn {
	title := "Count of uniforms, " + clean.Short(f.Client)
	if f.Site != "" {
		title += ", " + clean.Short(f.Site)
	}
	out := &fillIn{
		shop: f.Shop, units: f.Units, sheet: "Count", title: title, back: sendBack(f.Shop, f.ReturnBy, f.Day), label: ledger.CountedOn,
		beside: ledger.AnyDay, asOf: f.AsOf, spare: spareRows, how: f.How,
		columns: []fillColumn{
			{"Role", 12, who}, {"Name", 26, who}, {"Garment", 30, named}, {"Colour", 12, named}, {"Size", 8, named},
			{"On record", 10, shown}, {"Presentable", 12, written}, {"No.", 9, quiet},
		},
	}
	out.group = len(out.columns) - 1 // whoever a row is about is loud once and quiet below
	sites := slices.ContainsFunc(f.Rows, func(r CountRow) bool { return r.Site != f.Rows[0].Site })
	if sites {
		out.columns = slices.Insert(out.columns, 0, fillColumn{"Site", 16, who})
		out.group++
	}
	for _, r := range f.Rows {
		cells := []string{r.Role, r.Name, r.Garment, r.Colour, r.Size, strconv.Itoa(r.OnRecord), "", r.StaffID}
		if sites {
			cells = slices.Insert(cells, 0, r.Site)
		}
		out.rows = append(out.rows, cells)
	}
	return out
}

func sendBack(shop string, by programme.Date, day func(programme.Date) string) string {
	if by.IsZero() {
		return "Please send it back to " + clean.Short(shop) + "."
	}
	return "Please send it back to " + clean.Short(shop) + " by " + day(by) + "."
}

// CSV writes the form as a list, with the same lines above it.
func (f *CountForm) CSV() ([]byte, error) { return f.fillIn().CSV() }

// XLSX writes the form as a workbook, with a second sheet that explains it.
func (f *CountForm) XLSX() ([]byte, error) { return f.fillIn().XLSX() }
