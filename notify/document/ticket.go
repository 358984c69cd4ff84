package document

import (
	"codeberg.org/go-pdf/fpdf"

	"github.com/kitmuster/kitmuster/notify/page"
)

// Ticket tells the press operator all that one job needs.
type Ticket struct {
	Head
	Title  string
	Facts  []page.Fact
	Sets   []PressSet
	Notes  []string // cautions of the whole job
	Ref    string
	Checks []string // what to look at before handing over
}

// PressSet is one artwork at one place of one garment.
type PressSet struct {
	Title     string
	Placement string
	Placing   Placing // drawn beside the words
	Settings  []page.Fact
	Pieces    page.Table // pieces by colour and size
	Cautions  []string
}

// PDF draws the ticket, one block a set; a block is not broken between pages
// unless it is longer than one.
func (t *Ticket) PDF() ([]byte, []string, error) {
	p := newPaper(t.Head, t.Title, fpdf.SizeType{})
	p.letterhead(t.Head, t.Title)
	p.facts(t.Facts, 2)
	for _, n := range t.Notes {
		p.caution(n)
	}
	for i := range t.Sets {
		p.set(&t.Sets[i])
	}
	if len(t.Checks) > 0 {
		p.heading("Before it leaves the shop")
		for _, c := range t.Checks {
			p.room(8)
			p.tick(c)
		}
	}
	return p.finish("The job ticket", t.Ref)
}

func (p *paper) set(s *PressSet) {
	p.room(82 + 7*float64(len(s.Pieces.Rows)) + 17*float64(len(s.Cautions)))
	p.heading(s.Title)
	top, whole := p.GetY(), p.width
	if p.place(&s.Placing, margin+whole, top) {
		p.width -= placingWide + 4
	}
	p.para(s.Placement, 10.5, false, inkRGB)
	p.Ln(2)
	p.facts(s.Settings, 3)
	if p.width < whole {
		p.width = whole
		p.SetXY(margin, max(p.GetY(), top+placingHigh+1))
	}
	p.table(s.Pieces)
	p.Ln(2)
	for _, c := range s.Cautions {
		p.caution(c)
	}
}

// caution writes a sentence behind a bar, so that it is seen.
func (p *paper) caution(words string) {
	p.font(10, false, inkRGB)
	lines := p.lines(words, p.width-6)
	h := float64(len(lines)) * 5
	p.room(h + 2)
	y := p.GetY()
	p.SetFillColor(markRGB[0], markRGB[1], markRGB[2])
	p.Rect(margin, y, 1.2, h, "F")
	for i, l := range lines {
		p.SetXY(margin+4, y+float64(i)*5)
		p.box(p.width-4, 5, l, "L", false)
	}
	p.SetXY(margin, y+h+2)
}
