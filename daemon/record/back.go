package record

import (
	"context"
	"fmt"
	"slices"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/hint"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/ledger"
)

// Return is an entry of what a leaver hands back.
type Return struct {
	Options
	Person string
	// LastDay is entered with it, of somebody whose last day is not known.
	LastDay programme.Date
	// Pieces counts what came back by garment, colour and size as people write them
	// (polo/navy/M, polo); none = all that the person held.
	Pieces []Handed
}

// Handed is the number of pieces of a garment that came back.
type Handed struct {
	Garment, Colour, Size string
	Pieces                int
}

// Back takes the pieces of a leaver back: with their wear onto the shelf where
// the programme lets another wearer have them, and otherwise out of use. What did
// not come back had come to its end before, or stays with the leaver.
func Back(ctx context.Context, b *books.Books, r Return) (Outcome, error) {
	return carry(ctx, b, r.Options, func(m *move) error { return m.back(&r) })
}

func (m *move) back(r *Return) error {
	p, err := m.leaver(r)
	if err != nil {
		return err
	}
	held, err := m.inHand(p, m.opt.On)
	if err != nil {
		return err
	}
	if len(held) == 0 {
		return fmt.Errorf("%s held nothing on %s that the ledger knows of: %w", who(p), m.day(p.End), errNothingBack)
	}
	came, missing, err := m.came(r, p, held)
	if err != nil {
		return err
	}
	m.out.Kits = []Kit{{StaffID: p.StaffID, Name: p.Name}}
	kit := &m.out.Kits[0]
	if err := m.takeBack(p, kit, came, min(m.opt.On, p.End), programme.LeftReason); err != nil {
		return err
	}
	m.done.Text = fmt.Sprintf("%s of %s came back", programme.NumberOf(len(came), "piece"), who(p))
	m.about = fmt.Sprintf("%s of %s came back", programme.NumberOf(len(came), "piece"), p.StaffID)
	m.backNotes(kit, missing)
	return nil
}

// leaver finds the person and enters the last day that was given with it.
func (m *move) leaver(r *Return) (*programme.Person, error) {
	p, err := FindPerson(m.people, r.Person)
	if err != nil {
		return nil, err
	}
	switch {
	case r.LastDay.IsZero() && p.End.IsZero():
		return nil, fmt.Errorf("%s has no last day; %w. Pieces that somebody who stays hands back in another size are an %w",
			who(p), hint.Text{Command: "give it with --last-day", Desk: "write it into Last day"},
			hint.Text{Command: "'exchange'", Desk: "exchange, under Another size"})
	case r.LastDay.IsZero() || r.LastDay == p.End:
		return p, nil
	case !p.End.IsZero():
		return nil, fmt.Errorf("the last day of %s is %s already; correct it with %w", who(p), m.day(p.End),
			hint.Text{Command: "'kitmuster leave'", Desk: "Enter the last day"})
	case r.LastDay < p.Start:
		return nil, fmt.Errorf("%s started on %s, after %s", who(p), m.day(p.Start), m.day(r.LastDay))
	}
	after := *p
	after.End = r.LastDay
	if err := m.put(p, &after); err != nil {
		return nil, err
	}
	m.note("last day %s entered", m.day(after.End))
	return FindPerson(m.people, after.StaffID)
}

// came parts what a person held into pieces that came back, of several alike the
// most worn, and lots that did not.
func (m *move) came(r *Return, p *programme.Person,
	held []programme.Piece) (came []programme.Piece, missing []programme.Lot, err error) {
	if len(r.Pieces) == 0 {
		return held, nil, nil
	}
	left := slices.Clone(held)
	slices.Reverse(left) // the most worn first
	for _, h := range r.Pieces {
		k, err := m.heldAs(h, p, held)
		if err != nil {
			return nil, nil, err
		}
		n := 0
		left = slices.DeleteFunc(left, func(x programme.Piece) bool {
			if x.SKU != k || n == h.Pieces {
				return false
			}
			n++
			came = append(came, x)
			return true
		})
		if n < h.Pieces {
			day := m.opt.On
			if !p.End.IsZero() {
				day = min(day, p.End)
			}
			return nil, nil, fmt.Errorf("%s held %d of %s on %s, so %d cannot have come back", who(p), n, k,
				m.day(day), h.Pieces)
		}
	}
	if len(came) == 0 {
		return nil, nil, fmt.Errorf("no piece of %s came back by that: %w", who(p), errNothingBack)
	}
	return came, lots(left), nil
}

// heldAs finds the one thing held that fits what was said.
func (m *move) heldAs(h Handed, p *programme.Person, held []programme.Piece) (programme.SKU, error) {
	count := map[programme.SKU]int{}
	for i := range held {
		count[held[i].SKU]++
	}
	g := garmentNamed(m.books.Shop, h.Garment)
	if g == nil {
		_, wrong := ledger.NewCatalogue(m.books.Shop.Garments).Find(h.Garment, h.Colour, h.Size)
		return programme.SKU{}, fmt.Errorf("read %q, %s", h.Garment, wrong.Want)
	}
	k, ok := onlyHeld(count, g.Code, h.Colour, h.Size)
	if !ok {
		return k, fmt.Errorf("say which %s came back, with colour and size; %s %s", g.Code, who(p), heldText(count))
	}
	return k, nil
}

// backNotes says what became of the pieces, those that do not go out again by their reason.
func (m *move) backNotes(kit *Kit, missing []programme.Lot) {
	worn := fmt.Sprintf("too worn for another wearer (the programme asks for %.0f %% of their life)",
		100*m.client.ReissueLifeLeft)
	if m.client.ReissueLifeLeft <= 0 {
		worn = "out of use, since the programme lets no worn piece go out again; with reissue_life_left: 0.5 those do that have half their life before them"
	}
	const protects, named = "out of use, since they protect their wearer", "out of use, since they carry a name"
	by := map[string][]programme.Lot{}
	for _, l := range kit.Spent {
		why := worn
		if g, ok := m.books.Shop.Garment(l.Garment); ok && g.Protective != programme.NotProtective {
			why = protects
		} else if m.client.Named(m.books.Shop, "", l.SKU) {
			why = named
		}
		by[why] = append(by[why], l)
	}
	for _, why := range []string{worn, named, protects} {
		if n := programme.PiecesOf(by[why]...); n > 0 {
			m.note("%s %s: %s", programme.NumberOf(n, "piece"), why, lotWords(by[why]))
		}
	}
	if len(missing) > 0 {
		m.note("not back: %s", lotWords(missing))
	}
}

func lotWords(list []programme.Lot) string {
	return programme.Listing(list, func(l programme.Lot) string { return l.Words(l.String()) })
}
