package simulate

import (
	"bytes"
	"encoding/csv"
	"sort"
	"strconv"

	"github.com/kitmuster/kitmuster/programme"
)

// RosterCSV writes a roster as design.md section 8 wants it, one size column a family.
func RosterCSV(roster []programme.Person) []byte {
	families := familiesOf(roster)
	head := []string{"staff_id", "name", "role", "site", "start_date", "end_date"}
	for _, f := range families {
		head = append(head, "size_"+f)
	}
	rows := make([][]string, 0, len(roster))
	for i := range roster {
		p := &roster[i]
		row := []string{p.StaffID, p.Name, p.Role, p.Site, p.Start.String(), p.End.String()}
		for _, f := range families {
			row = append(row, p.Sizes[f])
		}
		rows = append(rows, row)
	}
	return table(head, rows)
}

func familiesOf(roster []programme.Person) []string {
	seen := map[string]bool{}
	for i := range roster {
		for f := range roster[i].Sizes {
			seen[f] = true
		}
	}
	list := make([]string, 0, len(seen))
	for f := range seen {
		list = append(list, f)
	}
	sort.Strings(list)
	return list
}

// LedgerCSV writes a ledger.
func LedgerCSV(ledger []programme.Movement) []byte {
	rows := make([][]string, len(ledger))
	for i := range ledger {
		m := &ledger[i]
		rows[i] = []string{m.Date.String(), string(m.Kind), m.StaffID, m.SKU.Garment, m.SKU.Colour, m.SKU.Size, strconv.Itoa(m.Pieces), string(m.Reason), m.Ref}
	}
	return table([]string{"date", "movement", "staff_id", "garment", "colour", "size", "pieces", "reason", "ref"}, rows)
}

// StockCSV writes what lies on the shelves and is on its way.
func StockCSV(stock []programme.StockLine) []byte {
	rows := make([][]string, len(stock))
	for i := range stock {
		l := &stock[i]
		rows[i] = []string{l.AsOf.String(), string(l.Kind), l.Client, l.Code, l.Colour, l.Size, strconv.Itoa(l.Pieces), l.Expected.String(), l.Made.String()}
	}
	return table([]string{"as_of", "kind", "client", "code", "colour", "size", "pieces", "expected_on", "made_on"}, rows)
}

func table(head []string, rows [][]string) []byte {
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	// A bytes.Buffer takes everything, so neither call can fail.
	_ = w.Write(head)
	_ = w.WriteAll(rows)
	return b.Bytes()
}
