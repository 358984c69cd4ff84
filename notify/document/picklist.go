package document

import (
	"codeberg.org/go-pdf/fpdf"

	"github.com/kitmuster/kitmuster/notify/page"
)

// PickList says which finished pieces come off the shelf, for whom.
type PickList struct {
	Head
	Title string
	Facts []page.Fact
	// Shelf is all that is fetched, Bags how it is parted.
	Shelf page.Table
	Bags  []PickBag
	Notes []string // cautions
	Ref   string
}

// PickBag is one person's part.
type PickBag struct {
	Name, Under string
	Take        []string // to be ticked off
	Back        []string // what comes back for it, to be ticked off
	Notes       []string // what follows, or is missing
}

// PDF draws the list; a person's part is not broken between pages unless it is
// longer than one.
func (l *PickList) PDF() ([]byte, []string, error) {
	p := newPaper(l.Head, l.Title, fpdf.SizeType{})
	p.letterhead(l.Head, l.Title)
	p.facts(l.Facts, 2)
	for _, n := range l.Notes {
		p.caution(n)
	}
	if len(l.Shelf.Rows) > 0 {
		p.heading("Fetch from the shelf")
		p.table(l.Shelf)
		p.Ln(2)
	}
	for i := range l.Bags {
		p.bag(&l.Bags[i])
	}
	return p.finish("The pick list", l.Ref)
}

func (p *paper) bag(b *PickBag) {
	p.room(16 + 7*float64(len(b.Take)+len(b.Back)) + 5*float64(len(b.Notes)))
	p.heading(b.Name)
	if b.Under != "" {
		p.SetXY(margin, p.GetY()-1.5)
		p.para(b.Under, 9, false, softRGB)
		p.SetXY(margin, p.GetY()+1.5)
	}
	for _, t := range b.Take {
		p.room(8)
		p.tick(t)
	}
	if len(b.Back) > 0 {
		p.room(16)
		p.para("Comes back", 9, true, softRGB)
		p.SetXY(margin, p.GetY()+1)
		for _, t := range b.Back {
			p.room(8)
			p.tick(t)
		}
	}
	for _, n := range b.Notes {
		p.SetXY(margin, p.GetY()+1)
		p.para(n, 9.5, false, inkRGB)
	}
}
