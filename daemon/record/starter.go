package record

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/hint"
	"github.com/kitmuster/kitmuster/notify/message"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/match"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

// Starters are people who start, in one entry.
type Starters struct {
	Options
	People []Starter
	// Wait leaves what the shelf does not have to the next round.
	Wait bool
}

// Start hires people, hands out what lies on the client's shelf for their kits,
// proposes what is missing, and writes a pick list and bag tags. Somebody who is on
// the roster already, with no more said than sizes that were not known, gets what
// their kit still lacks.
func Start(ctx context.Context, b *books.Books, s Starters) (Outcome, error) {
	if len(s.People) == 0 {
		return Outcome{}, errors.New("say who starts")
	}
	return carry(ctx, b, s.Options, func(m *move) error { return m.start(&s) })
}

func (m *move) start(s *Starters) error {
	var said, about []string
	var staff []string
	for i := range s.People {
		p, hired, err := m.comes(&s.People[i])
		if err != nil {
			return err
		}
		if slices.Contains(staff, p.StaffID) {
			return fmt.Errorf("%s is named twice", who(&p))
		}
		staff = append(staff, p.StaffID)
		words := fmt.Sprintf("starts as %s on %s", p.Role, m.day(p.Start))
		if !hired {
			words = "gets what the kit lacks"
		}
		said, about = append(said, who(&p)+" "+words), append(about, p.StaffID+" "+words)
		m.out.Kits = append(m.out.Kits, Kit{StaffID: p.StaffID, Name: p.Name, Hired: hired, Start: p.Start})
	}
	pool, err := m.pooled(staff)
	if err != nil {
		return err
	}
	for i, id := range staff {
		p, err := FindPerson(m.people, id)
		if err != nil {
			return err
		}
		if err := m.equip(p, &m.out.Kits[i], pool, !s.Wait); err != nil {
			return err
		}
	}
	m.done.Text, m.about = strings.Join(said, "; "), strings.Join(about, "; ")
	m.moneyOfPool()
	if err := m.propose(); err != nil {
		return err
	}
	m.comesLate()
	return m.papers("starters")
}

// comesLate says whose kit is not whole on the first day.
func (m *move) comesLate() {
	p := m.out.Proposal
	if p == nil {
		return
	}
	var late []string
	for i := range m.out.Kits {
		if k := &m.out.Kits[i]; k.Start < p.Arrives && len(k.Proposed) > 0 {
			late = append(late, cmp.Or(k.Name, k.StaffID)+" ("+m.day(k.Start)+")")
		}
	}
	if len(late) > 0 {
		m.note("what is proposed comes on %s at the earliest, after the first day of %s", m.day(p.Arrives),
			strings.Join(late, "; "))
	}
}

// comes hires somebody, or finds them on the roster.
func (m *move) comes(s *Starter) (p programme.Person, hired bool, err error) {
	if known := m.onRoster(s); known != nil {
		p, err := m.completed(known, s)
		return p, false, err
	}
	if p, err = m.newcomer(m.people, s); err != nil {
		return p, false, fmt.Errorf("%s: %w", s.Name, err)
	}
	return p, true, m.put(nil, &p)
}

// onRoster returns the person whom a starter's words mean, who has not left; nil for a
// new one.
func (m *move) onRoster(s *Starter) *programme.Person {
	word := strings.TrimSpace(s.Name)
	if s.StaffID != "" {
		return nil
	}
	for i := range m.people {
		p := &m.people[i]
		if (p.StaffID == word || p.Name != "" && match.Plain(p.Name) == match.Plain(word)) &&
			(p.End.IsZero() || p.End >= m.opt.On) {
			return p
		}
	}
	return nil
}

// completed adds sizes that were not known of somebody on the roster.
func (m *move) completed(known *programme.Person, s *Starter) (programme.Person, error) {
	p := *known
	sizes, err := m.sizes(s.Sizes)
	if err != nil {
		return p, fmt.Errorf("%s: %w", who(known), err)
	}
	changed := false
	for family, size := range sizes {
		switch had := p.Sizes[family]; {
		case had == size || had == "" && size == programme.NoSize:
		case had == "":
			p.Resize(family, size, false)
			changed = true
		default:
			return p, fmt.Errorf("%s is on the roster with %s in %s; another size is an exchange%w", who(known),
				p.Sizes[family], family, hint.Text{
					Command: fmt.Sprintf(": 'kitmuster exchange %s %s --size %s=%s'", m.code, p.StaffID, family, size),
					Desk:    ", on the page of the person",
				})
		}
	}
	if changed {
		m.recut(known, &p)
		return p, m.put(known, &p)
	}
	return p, nil
}

// equip gives a starter what their kit lacks: from the shelf as far as it goes, then from
// what is on its way for nobody by name.
func (m *move) equip(p *programme.Person, kit *Kit, pool []message.AwaitedLot, propose bool) error {
	lacks, err := m.lacks(p, kit)
	if err != nil {
		return err
	}
	coming, err := m.coming(p.StaffID, reorder.OnItsWay())
	if err != nil {
		return err
	}
	asked, err := m.coming(p.StaffID, reorder.Unsettled())
	if err != nil {
		return err
	}
	for _, w := range lacks {
		w.pieces = kit.await(w.sku, w.pieces, coming)
		left, err := m.pick(p, kit, w)
		if err != nil {
			return err
		}
		left = kit.await(w.sku, kit.await(w.sku, left, asked), pool)
		m.rest(p, kit, w.sku, left, programme.CauseHires, propose)
	}
	m.noteAwaited(p, kit, hint.Text{
		Command: fmt.Sprintf("'kitmuster starter %s %s'", m.code, p.StaffID),
		Desk:    "write " + p.StaffID + " as the name on this form again: that",
	})
	for _, u := range kit.Unsized {
		m.note("%s: %s", who(p), u)
	}
	m.askForSizes(p)
	for _, l := range kit.Held {
		m.note("%s: %d × %s protects its wearer and is not ordered without a person's yes%s", who(p), l.Pieces,
			l.SKU, hint.Text{Command: ": 'kitmuster held " + m.code + "'", Desk: ", which is given on the page of the client"})
	}
	return nil
}

// noteAwaited notes which pieces a person gets from orders that were there before, and what hands
// out those of them that are for nobody by name.
func (m *move) noteAwaited(p *programme.Person, kit *Kit, handsOut hint.Text) {
	unnamed := false
	for _, l := range kit.Awaited {
		if l.Unnamed {
			unnamed = true
			m.note("%s: %d × %s come with proposal %d, which is on its way: spares, meant for nobody else", who(p), l.Pieces,
				l.SKU, l.Proposal)
			continue
		}
		state := "which has no yes yet"
		if l.OnItsWay {
			state = "which is on its way"
		}
		m.note("%s: %d × %s are in proposal %d already, %s", who(p), l.Pieces, l.SKU, l.Proposal, state)
	}
	if unnamed {
		m.note("once they are here, %s hands them out", handsOut)
	}
}

// askForSizes notes the command that enters the sizes of a starter that nobody knows yet.
func (m *move) askForSizes(p *programme.Person) {
	missing := m.client.Unsized(m.books.Shop, p)
	if len(missing) == 0 {
		return
	}
	families := slices.Concat(missing...)
	slices.Sort(families)
	sizes := strings.Join(slices.Compact(families), "=SIZE ")
	known, size := "the size is known", "the size"
	if slices.ContainsFunc(missing, func(families []string) bool { return len(families) > 1 }) {
		known, size = "cut and size are known", "the size of the cut they wear"
	}
	m.note("when %s%s", known, hint.Text{
		Command: fmt.Sprintf(": kitmuster starter %s %s %s=SIZE", m.code, p.StaffID, sizes),
		Desk:    fmt.Sprintf(", write %s as the name on this form again, with %s", p.StaffID, size),
	})
}

// moneyOfPool says what the customer owes for pieces that were the shop's until now.
func (m *move) moneyOfPool() {
	if m.client.PoolBelongsTo != programme.OwnedByShop {
		return
	}
	var sum programme.Money
	priced, n := true, 0
	for i := range m.out.Kits {
		for _, l := range m.out.Kits[i].Picked {
			price, ok := m.client.PriceOf(l.Garment, l.Size, m.opt.On)
			priced = priced && ok
			sum += price * programme.Money(l.Pieces)
			n += l.Pieces
		}
	}
	switch {
	case n == 0:
	case priced:
		m.note("%s from the shelf were yours until now: %s to invoice", programme.NumberOf(n, "piece"),
			sum.In(m.books.Shop.Currency))
	default:
		m.note("%s from the shelf were yours until now; not all have a price in the programme, so look up what to invoice",
			programme.NumberOf(n, "piece"))
	}
}
