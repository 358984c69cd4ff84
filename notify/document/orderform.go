package document

import (
	"codeberg.org/go-pdf/fpdf"

	"github.com/kitmuster/kitmuster/notify/page"
)

// OrderForm is what a client signs: what is ordered, for whom, by when.
type OrderForm struct {
	Head
	Title string
	Facts []page.Fact // proposal number, dates
	// Lines is what is ordered, with prices only where the programme shows them.
	Lines page.Table
	// Notes stand below the lines: the pool, what is held.
	Notes []string
	// People is who gets what; nil rows leave it out.
	People   page.Table
	ReturnTo string // name and address for the signed form
	Ref      string // "Proposal 17", for the foot
}

// PDF draws the form: first the order with its place to sign, then the people.
func (o *OrderForm) PDF() ([]byte, []string, error) {
	p := newPaper(o.Head, o.Title, fpdf.SizeType{})
	p.letterhead(o.Head, o.Title)
	p.facts(o.Facts)
	p.Ln(2)
	p.table(o.Lines)
	p.Ln(2)
	for _, n := range o.Notes {
		p.para(n, 9.5, false, inkRGB)
		p.Ln(1)
	}
	p.sign(o.ReturnTo)
	if len(o.People.Rows) > 0 {
		p.letterhead(o.Head, "Who gets what")
		p.table(o.People)
	}
	return p.finish("The order form", o.Ref)
}

// sign draws the two answers and the lines to sign on.
func (p *paper) sign(returnTo string) {
	p.room(88)
	p.heading("Your answer")
	p.tick("Yes, please go ahead as listed.")
	p.tick("Yes, with these changes:")
	for range 2 {
		p.Ln(7)
		p.rule(ruleRGB, 0.2)
	}
	p.Ln(6)
	half := p.width/2 - 4
	for _, pair := range [][2]string{{"Name", "Position"}, {"Signature", "Date"}, {"Your order number, if you use one", ""}} {
		y := p.GetY() + 10
		for i, words := range pair {
			if words == "" {
				continue
			}
			x := margin + float64(i)*(half+8)
			p.SetDrawColor(inkRGB[0], inkRGB[1], inkRGB[2])
			p.SetLineWidth(0.3)
			p.Line(x, y, x+half, y)
			p.SetXY(x, y+0.5)
			p.font(8, false, softRGB)
			p.cell(half, 4, words, "L")
		}
		p.SetXY(margin, y+4)
	}
	p.Ln(4)
	if returnTo != "" {
		p.para("Please return this form to "+returnTo+".", 9.5, false, inkRGB)
	}
}

// tick draws an empty box with words beside it.
func (p *paper) tick(words string) {
	y := p.GetY()
	p.SetDrawColor(inkRGB[0], inkRGB[1], inkRGB[2])
	p.SetLineWidth(0.3)
	p.Rect(margin+1, y+1, 4, 4, "D")
	p.SetXY(margin+7, y)
	p.font(10.5, false, inkRGB)
	p.cell(p.width-7, 6, words, "L")
	p.SetXY(margin, y+7)
}
