package message

import (
	"fmt"
	"slices"
	"strconv"

	"github.com/kitmuster/kitmuster/notify/chart"
	"github.com/kitmuster/kitmuster/notify/document"
	"github.com/kitmuster/kitmuster/notify/page"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

const (
	// layoutPictures is the number of layouts of one order that are shown as pictures.
	layoutPictures = 4
	// whyPages is the number of due clients up to which each has an attached page
	// of its arithmetic; for more, a command prints it.
	whyPages = 12
)

// ComposeRound writes the owner's weekly mail.
func ComposeRound(r Round) (Mail, error) {
	m := Mail{Kind: KindRound, ID: id("round", r.AsOf, r.Number), To: []programme.Contact{r.Shop.Owner}}
	p, err := r.page(&m)
	if err != nil {
		return Mail{}, fmt.Errorf("compose round of %s: %w", r.AsOf, err)
	}
	if err := r.attach(&m); err != nil {
		return Mail{}, fmt.Errorf("compose round of %s: %w", r.AsOf, err)
	}
	return m, m.write(p)
}

// attach adds every line as a list, the arithmetic of each client, and the proofs.
func (r *Round) attach(m *Mail) error {
	if len(r.Due) > 0 {
		csv, err := document.CSV(roundColumns, r.lines())
		if err != nil {
			return err
		}
		m.Attachments = append(m.Attachments, Part{Name: "round-" + r.AsOf.String() + ".csv", Type: typeCSV, Data: csv})
	}
	for i := range r.Due[:min(len(r.Due), whyPages)] {
		d := &r.Due[i]
		why, err := page.HTML(d.why(r.Shop))
		if err != nil {
			return err
		}
		m.Attachments = append(m.Attachments, Part{Name: id("why", d.Proposal.Number, clientName(d.Client)) + ".html",
			Type: typeHTML, Data: []byte(why)})
	}
	for i := range r.Sheets {
		m.Attachments = append(m.Attachments, r.Sheets[i].proofs()...)
	}
	return nil
}

// proofs returns the drawings to attach.
func (s *SheetToOrder) proofs() []Part {
	var out []Part
	for _, p := range s.Proofs {
		out = append(out, p.named())
	}
	return out
}

// picture returns the client's need over the coming weeks against what is there.
func (d *Due) picture(t notation) chart.Ahead {
	b := bandOf(d.Ahead)
	p := d.Proposal
	a := chart.Ahead{AsOf: d.Ahead.AsOf, Mean: b.mean, Low: b.low, High: b.high, Date: t.date}
	on, order := 0, 0
	for i := range d.Ahead.Lines {
		l := &d.Ahead.Lines[i]
		on, order = on+l.OnHand-l.Owed, order+l.OnOrder
	}
	if len(d.Arriving) == 0 {
		on += order
	}
	a.There = make([]float64, len(b.mean))
	a.WithOrder = make([]float64, len(b.mean))
	for w := range a.There {
		day := d.Ahead.AsOf.Add(7 * w)
		n := on
		for _, x := range d.Arriving {
			if x.On <= day {
				n += x.Pieces
			}
		}
		a.There[w] = float64(n)
		if day >= p.Arrives {
			n += p.Pieces()
		}
		a.WithOrder[w] = float64(n)
	}
	a.FromZero()
	return a
}

// roundRow is a line of a proposal of the round.
type roundRow struct {
	proposal int64
	client   string
	currency string
	*reorder.Line
}

// roundColumns are every number of the round.
var roundColumns = slices.Concat([]document.Column[roundRow]{
	{Heading: "proposal", Value: func(r roundRow) string { return strconv.FormatInt(r.proposal, 10) }},
	{Heading: "client", Value: func(r roundRow) string { return r.client }},
	{Heading: "garment", Value: func(r roundRow) string { return r.Garment }},
	{Heading: "colour", Value: func(r roundRow) string { return r.Colour }},
	{Heading: "size", Value: func(r roundRow) string { return r.Size }},
	{Heading: "expected", Value: func(r roundRow) string { return hundredths(r.Expected) }},
}, causeColumns(), []document.Column[roundRow]{
	{Heading: "at_target", Value: func(r roundRow) string { return strconv.Itoa(r.AtTarget) }},
	{Heading: "on_hand", Value: func(r roundRow) string { return strconv.Itoa(r.OnHand) }},
	{Heading: "on_order", Value: func(r roundRow) string { return strconv.Itoa(r.OnOrder) }},
	{Heading: "owed", Value: func(r roundRow) string { return strconv.Itoa(r.Owed) }},
	{Heading: "wanted", Value: func(r roundRow) string { return strconv.Itoa(r.Wanted) }},
	{Heading: "order", Value: func(r roundRow) string { return strconv.Itoa(r.Order) }},
	{Heading: "rounding", Value: func(r roundRow) string { return r.Rounding }},
	{Heading: "blanks_on_shelf", Value: func(r roundRow) string { return strconv.Itoa(r.BlanksOnShelf) }},
	{Heading: "buy", Value: func(r roundRow) string { return strconv.Itoa(r.Buy) }},
	{Heading: "order_blanks_by", Value: func(r roundRow) string { return r.OrderBlanksBy.String() }},
	{Heading: "unit_cost", Value: func(r roundRow) string { return r.UnitCost.Plain(r.currency) }},
	{Heading: "unit_price", Value: func(r roundRow) string { return r.UnitPrice.Plain(r.currency) }},
})

// causeColumns split the expected pieces.
func causeColumns() []document.Column[roundRow] {
	var out []document.Column[roundRow]
	for c := range (programme.Causes{}).Each() {
		out = append(out, document.Column[roundRow]{Heading: c.String(),
			Value: func(r roundRow) string { return hundredths(*r.At(c)) }})
	}
	return out
}

func hundredths(x float64) string { return fmt.Sprintf("%.2f", x) }

// lines returns the lines of every proposal, a row for each client, garment, colour and size.
func (r *Round) lines() []roundRow {
	var rows []roundRow
	for i := range r.Due {
		p := r.Due[i].Proposal
		for j := range p.Lines {
			rows = append(rows, roundRow{p.Number, p.Client, r.Shop.Currency, &p.Lines[j]})
		}
	}
	return rows
}
