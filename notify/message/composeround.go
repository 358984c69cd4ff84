package message

import (
	"fmt"

	"github.com/kitmuster/kitmuster/notify/chart"
	"github.com/kitmuster/kitmuster/notify/document"
	"github.com/kitmuster/kitmuster/programme"
)

// A mail program may cut a mail after some 100 kB, and a server may refuse one
// of many megabytes. So the more clients are due, the less is said of each.
type detail int

const (
	full    detail = iota // pictures, tables, every reason
	brief                 // tables and one line of arithmetic
	listed                // a line for each garment and colour
	counted               // pieces and dates only; the rest is in the attached list
)

const (
	// picturesUpTo is the number of due clients up to which each gets a picture.
	picturesUpTo = 12
	// layoutPictures is how many layouts of one order are shown as pictures.
	layoutPictures = 4
	// longestHTML is where less is said, in bytes.
	longestHTML = 98_000
)

// ComposeRound writes the owner's weekly mail.
func ComposeRound(r Round) (Mail, error) {
	for d := r.detail(); ; d++ {
		m, err := r.compose(d)
		if err != nil {
			return Mail{}, fmt.Errorf("compose round of %s: %w", r.AsOf, err)
		}
		if len(m.HTML) < longestHTML || d == counted {
			return m, nil
		}
	}
}

func (r *Round) detail() detail {
	if len(r.Due) > picturesUpTo {
		return brief
	}
	return full
}

func (r *Round) compose(d detail) (Mail, error) {
	v := r.view(d)
	m := Mail{Kind: KindRound, ID: id("round", r.AsOf, r.Number), Subject: v.Subject, To: []programme.Contact{r.Shop.Owner}}
	if err := r.pictures(&m, &v); err != nil {
		return Mail{}, err
	}
	if len(r.Due) > 0 {
		csv, err := document.CSV(r.linesCSV())
		if err != nil {
			return Mail{}, err
		}
		m.Attachments = append(m.Attachments, Part{Name: "round-" + r.AsOf.String() + ".csv", Type: typeCSV, Data: csv})
	}
	for i := range r.Sheets {
		m.Attachments = append(m.Attachments, r.Sheets[i].proofs()...)
	}
	var err error
	m.HTML, m.Text, err = render("round", v)
	return m, err
}

// proofs returns the drawings to attach.
func (s *SheetToOrder) proofs() []Part {
	var out []Part
	for _, p := range s.Proofs {
		out = append(out, p.named())
	}
	return out
}

// pictures draws what the mail shows and notes the content IDs in the view.
func (r *Round) pictures(m *Mail, v *roundView) error {
	for i := range r.Due {
		d := &r.Due[i]
		if v.Less != "" || d.Ahead == nil || d.Ahead.Weeks < 2 {
			continue
		}
		png, err := chart.Demand(d.picture(r.tongue()))
		if err != nil {
			return err
		}
		dv := &v.Due[i]
		dv.Picture = id("ahead", d.Proposal.Number)
		dv.Alt = d.alt(r.tongue())
		m.Inline = append(m.Inline, Part{Name: dv.Picture + ".png", Type: typePNG, CID: dv.Picture, Data: png})
	}
	for i := range v.Sheets {
		for j := range v.Sheets[i].Layouts {
			lv := &v.Sheets[i].Layouts[j]
			if lv.Picture == "" {
				continue
			}
			png, width, height, err := chart.Layout(&r.Sheets[i].Layouts[j])
			if err != nil {
				return err
			}
			lv.Width, lv.Height = width, height
			m.Inline = append(m.Inline, Part{Name: lv.Picture + ".png", Type: typePNG, CID: lv.Picture, Data: png})
		}
	}
	return nil
}

// picture is the client's need over the coming weeks against what is there.
func (d *Due) picture(t tongue) chart.Ahead {
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
	return a
}

// alt says in words what the picture shows.
func (d *Due) alt(t tongue) string {
	b := bandOf(d.Ahead)
	a := d.picture(t)
	last := len(b.mean) - 1
	s := fmt.Sprintf("%s: pieces needed over %d weeks, %.0f expected by %s (between %.0f and %.0f).", clientName(d.Client), last, b.mean[last], t.date(d.Ahead.AsOf.Add(7*last)), b.low[last], b.high[last])
	return s + " " + runsOut("Without this order", b.mean, a.There, 1, t, d.Ahead.AsOf) + " " + d.withIt(b.mean, a.WithOrder, t)
}

// withIt says how long the order lasts, from the week in which it arrives.
func (d *Due) withIt(need, there []float64, t tongue) string {
	arrives := d.Proposal.Arrives
	first := max(1, (arrives.Sub(d.Ahead.AsOf)+6)/7)
	what := "With it"
	for w := 1; w < min(first, len(need)); w++ {
		if need[w] > there[w] {
			what = fmt.Sprintf("Until it arrives on %s some may go short; then", t.date(arrives))
			break
		}
	}
	return runsOut(what, need, there, first, t, d.Ahead.AsOf)
}

// runsOut names the week, from a first one on, in which the need passes what is there.
func runsOut(what string, need, there []float64, first int, t tongue, asOf programme.Date) string {
	for w := first; w < len(need); w++ {
		if need[w] > there[w] {
			return fmt.Sprintf("%s the expected need passes what is there in the week to %s.", what, t.date(asOf.Add(7*w)))
		}
	}
	return what + " there is enough for the whole time."
}

// linesCSV is every number of the round, a row for each client, garment, colour and size.
func (r *Round) linesCSV() [][]string {
	rows := [][]string{{"proposal", "client", "garment", "colour", "size", "expected", "worn", "print", "mishap", "hires", "at_target", "on_hand", "on_order", "owed", "wanted", "order", "rounding", "blanks_on_shelf", "buy", "order_blanks_by", "unit_cost", "unit_price"}}
	for i := range r.Due {
		p := r.Due[i].Proposal
		for j := range p.Lines {
			l := &p.Lines[j]
			rows = append(rows, []string{
				fmt.Sprint(p.Number), p.Client, l.Garment, l.Colour, l.Size,
				fmt.Sprintf("%.2f", l.Expected), fmt.Sprintf("%.2f", l.Worn), fmt.Sprintf("%.2f", l.Print), fmt.Sprintf("%.2f", l.Mishap), fmt.Sprintf("%.2f", l.Hires),
				fmt.Sprint(l.AtTarget), fmt.Sprint(l.OnHand), fmt.Sprint(l.OnOrder), fmt.Sprint(l.Owed), fmt.Sprint(l.Wanted), fmt.Sprint(l.Order), l.Rounding,
				fmt.Sprint(l.BlanksOnShelf), fmt.Sprint(l.Buy), l.OrderBlanksBy.String(), l.UnitCost.Decimal(), l.UnitPrice.Decimal(),
			})
		}
	}
	return rows
}
