package document

import (
	"fmt"

	"codeberg.org/go-pdf/fpdf"

	"github.com/kitmuster/kitmuster/notify/page"
)

// Parcels are the packing lists of one job, a parcel for each place.
type Parcels struct {
	Head
	Parcels []Parcel
	Ref     string // "Proposal 17", for the foot
}

// Parcel holds the pieces that go to one place.
type Parcel struct {
	Facts []page.Fact // where it goes, to whom, how many pieces, when
	// Address is its destination; an empty one leaves a line to write it on.
	Address string
	Table   page.Table
}

// PDF draws the packing lists; each parcel begins a page of its own, so that it
// can go with the parcel.
func (l *Parcels) PDF() ([]byte, []string, error) {
	p := newPaper(l.Head, "Packing lists, "+l.Ref, fpdf.SizeType{})
	for i := range l.Parcels {
		x := &l.Parcels[i]
		title := "Packing list"
		if len(l.Parcels) > 1 {
			title = fmt.Sprintf("Packing list, parcel %d of %d", i+1, len(l.Parcels))
		}
		p.letterhead(l.Head, title)
		p.facts(x.Facts, 2)
		if x.Address == "" {
			p.signLines([][2]string{{"Address", ""}})
		} else {
			p.facts([]page.Fact{{Label: "Address", Value: x.Address}}, 1)
		}
		p.Ln(3)
		p.table(x.Table)
		p.room(22)
		p.Ln(6)
		p.signLines([][2]string{{"Packed and counted by", "Date"}})
	}
	return p.finish("The packing list", l.Ref)
}
