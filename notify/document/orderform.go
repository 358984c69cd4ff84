package document

import (
	"fmt"

	"codeberg.org/go-pdf/fpdf"

	"github.com/kitmuster/kitmuster/notify/page"
)

// OrderForm is the paper that a client signs: what is ordered, for whom, by when.
type OrderForm struct {
	Head
	Title string
	Facts []page.Fact // proposal number, dates
	// Lines lists the goods, with prices only where the programme shows them.
	Lines page.Table
	// Notes stand below the lines: what is for nobody yet, terms, what is held.
	Notes []string
	// People lists who gets what; without rows it is left out.
	People page.Table
	// Questions ask about people whom the order cannot serve.
	Questions []string
	// Pieces says how many the yes is to.
	Pieces string
	// OrderNumber of the customer, if it is known; Approver is who signs besides.
	OrderNumber, Approver string
	// Seller is the shop's address and registration, a line each; empty ones are left out.
	Seller   []string
	ReturnTo string // name and address for the signed form
	Ref      string // "Proposal 17", for the foot
}

// PDF draws the form: first the order with its place to sign, then the people.
func (o *OrderForm) PDF() ([]byte, []string, error) {
	p := newPaper(o.Head, o.Title, fpdf.SizeType{})
	p.letterhead(o.Head, o.Title)
	for _, s := range o.Seller {
		if s != "" {
			p.para(s, 9, false, softRGB)
		}
	}
	p.Ln(2)
	p.facts(o.Facts, 2)
	p.Ln(2)
	p.table(o.Lines)
	p.Ln(2)
	for _, n := range o.Notes {
		p.para(n, 9.5, false, inkRGB)
		p.Ln(1)
	}
	alone := p.sign(o)
	if len(o.People.Rows) > 0 {
		if alone {
			p.heading("Who gets what")
		} else {
			p.letterhead(o.Head, "Who gets what")
		}
		p.table(o.People)
	}
	if len(o.Questions) > 0 {
		p.heading("Please tell us")
		for _, q := range o.Questions {
			p.para(q, 10, false, inkRGB)
		}
	}
	return p.finish("The order form", o.Ref)
}

// sign draws the answers and the lines to sign on. They stand together: below
// the order where there is room, else on the next page with what is signed; alone
// reports the latter, where the people follow on the same page.
func (p *paper) sign(o *OrderForm) (alone bool) {
	high := 84.0
	if o.Approver != "" {
		high += 14
	}
	if p.GetY()+high > p.bottom {
		alone = true
		p.AddPage()
		p.para(o.Ref+": "+o.Pieces, 11, true, inkRGB)
	}
	p.heading("Your answer")
	p.tick("Yes, please go ahead with all " + o.Pieces + ".")
	p.tick("Yes, with changes: other numbers are written on this form or on the attached list.")
	p.tick("Not now. Please ask again on:")
	p.Ln(1)
	lines := [][2]string{{"Name", "Position"}, {"Signature", "Date"}}
	if o.Approver != "" {
		lines = append(lines, [2]string{"Second signature: " + o.Approver, "Date"})
	}
	number := "Your order number, if you use one"
	if o.OrderNumber != "" {
		number = "Your order number: " + o.OrderNumber
	}
	p.signLines(append(lines, [2]string{number, ""}))
	p.Ln(4)
	if o.ReturnTo != "" {
		p.para(fmt.Sprintf("Please return this form to %s.", o.ReturnTo), 9.5, false, inkRGB)
	}
	return alone
}

// signLines draws lines to write on, two beside each other.
func (p *paper) signLines(pairs [][2]string) {
	half := p.width/2 - 4
	for _, pair := range pairs {
		y := p.GetY() + 9
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
