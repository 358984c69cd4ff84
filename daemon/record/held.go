package record

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"github.com/kitmuster/kitmuster/daemon/answer"
	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/hint"
	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

// HeldAnswer is an entry of what a person decides about protective clothing that waits for a yes.
type HeldAnswer struct {
	Options
	Yes bool
	// Holds lists what waits today; Lines name some of them as people write them, each
	// with how many pieces (below 0 = all); none = all of all.
	Holds []reorder.Hold
	Lines []Handed
}

// AnswerHeld records a yes or no about held clothing. A yes orders: it makes a
// proposal of its own that is accepted at once, with its papers for the press, so
// that the next orders to suppliers have the pieces. Either is not asked again.
func AnswerHeld(ctx context.Context, b *books.Books, h HeldAnswer) (Outcome, error) {
	return carry(ctx, b, h.Options, func(m *move) error { return m.answerHeld(&h) })
}

func (m *move) answerHeld(h *HeldAnswer) error {
	chosen, err := m.chosenHolds(h)
	if err != nil {
		return err
	}
	before, err := m.tx.HeldAnswers(m.code)
	if err != nil {
		return err
	}
	if err := m.journal.Held(m.code); err != nil {
		return err
	}
	after := slices.DeleteFunc(slices.Clone(before), func(a store.HeldAnswer) bool {
		return slices.ContainsFunc(chosen, func(c reorder.Hold) bool { return c.SKU == a.SKU })
	})
	n, said := 0, []string{}
	for _, c := range chosen {
		n += c.Pieces
		said = append(said, fmt.Sprintf("%d × %s", c.Pieces, answer.Name(m.books.Shop, c.SKU)))
		after = append(after, store.HeldAnswer{Client: m.code, SKU: c.SKU, Yes: h.Yes, Pieces: c.Pieces, On: m.opt.On})
	}
	if err := m.tx.PutHeldAnswers(m.code, after); err != nil {
		return err
	}
	word := programme.YesNo(h.Yes)
	m.done.Text = fmt.Sprintf("%s to %s of protective clothing for %s: %s", word, programme.NumberOf(n, "piece"),
		m.client.Name, strings.Join(said, ", "))
	m.about = fmt.Sprintf("%s to held clothing: %s", word, strings.Join(said, ", "))
	if !h.Yes {
		m.note("not asked again for %d days, unless noticeably more is needed", reorder.AnswerDays(m.client))
		return nil
	}
	return m.orderHeld(chosen)
}

// chosenHolds returns the lines named, with the pieces said.
func (m *move) chosenHolds(h *HeldAnswer) ([]reorder.Hold, error) {
	if len(h.Holds) == 0 {
		return nil, fmt.Errorf("nothing of %s waits for a yes on %s", m.client.Name, m.day(m.opt.On))
	}
	if len(h.Lines) == 0 {
		return h.Holds, nil
	}
	var out []reorder.Hold
	for _, l := range h.Lines {
		found := 0
		for _, c := range h.Holds {
			if !fitsLine(m.books.Shop, c.SKU, l) {
				continue
			}
			found++
			if l.Pieces >= 0 {
				c.Pieces = l.Pieces
			}
			if slices.ContainsFunc(out, func(o reorder.Hold) bool { return o.SKU == c.SKU }) {
				return nil, fmt.Errorf("%s is named twice", c.SKU)
			}
			out = append(out, c)
		}
		switch {
		case found == 0:
			return nil, fmt.Errorf("%s does not wait for a yes; these do: %s", l.name(), holdWords(h.Holds))
		case found > 1 && l.Pieces >= 0:
			return nil, fmt.Errorf("%s=%d fits several lines: %s; say which", l.name(), l.Pieces,
				holdWords(out[len(out)-found:]))
		}
	}
	if h.Yes {
		out = slices.DeleteFunc(out, func(c reorder.Hold) bool { return c.Pieces == 0 })
	}
	if len(out) == 0 {
		return nil, fmt.Errorf("a yes to no piece is a no%w", hint.Text{
			Command: ": 'kitmuster held no'", Desk: ", which is given on the page of the client"})
	}
	return out, nil
}

func (h *Handed) name() string {
	return strings.TrimRight(h.Garment+"/"+h.Colour+"/"+h.Size, "/")
}

func fitsLine(shop *programme.Shop, k programme.SKU, l Handed) bool {
	g := garmentNamed(shop, l.Garment)
	return g != nil && g.Code == k.Garment && (l.Colour == "" || strings.EqualFold(l.Colour, k.Colour)) &&
		(l.Size == "" || strings.EqualFold(l.Size, k.Size))
}

func holdWords(holds []reorder.Hold) string {
	return programme.Listing(holds, func(h reorder.Hold) string { return fmt.Sprintf("%d × %s", h.Pieces, h.SKU) })
}

// orderHeld makes the pieces an accepted proposal, for those who need them most and
// the rest for the client's shelf.
func (m *move) orderHeld(chosen []reorder.Hold) error {
	var spare []reorder.LineChange
	for _, c := range chosen {
		left := c.Pieces
		for _, n := range c.Named {
			if n.Pieces = min(n.Pieces, left); n.Pieces > 0 {
				left -= n.Pieces
				m.named = append(m.named, n)
			}
		}
		if left > 0 {
			spare = append(spare, reorder.LineChange{SKU: c.SKU, Pieces: left})
		}
	}
	p, err := m.direct(spare)
	if err != nil || m.opt.Try {
		return err
	}
	out, err := answer.Record(m.tx, m.books.Shop, m.client, answer.Answer{
		Number: p.Number, Event: reorder.Accept, Day: m.opt.On, From: m.opt.From,
		Note: "a person's yes to protective clothing",
	}, m.id, m.journal)
	if err != nil {
		return err
	}
	*m.out.Proposal = out.Proposal
	m.out.Papers = out.Papers
	for _, n := range out.Notices {
		m.done.Notes = append(m.done.Notes, n.TrimSuffix("."))
	}
	m.note("the maker's word and the label come before any print on it; the job ticket says so again")
	return nil
}
