package record

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"maps"
	"slices"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/hint"
	"github.com/kitmuster/kitmuster/notify/message"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

// Exchange is another size of one person.
type Exchange struct {
	Options
	Person string
	// Sizes are the new ones by family, as people write them; none takes back what
	// no longer fits, as far as the new pieces are there.
	Sizes map[string]string
	// Propose makes a proposal of what the shelf does not have, instead of leaving
	// it to the next round.
	Propose bool
}

// Swap changes a person's size and exchanges what they hold: as many of the new
// size as lie on the shelf are handed out, and as many of the old one come back,
// to the shelf where another wearer may have them. What the shelf lacks is owed,
// and the old pieces count until it is there.
func Swap(ctx context.Context, b *books.Books, x Exchange) (Outcome, error) {
	return carry(ctx, b, x.Options, func(m *move) error { return m.swap(&x) })
}

func (m *move) swap(x *Exchange) error {
	before, err := m.present(x.Person)
	if err != nil {
		return err
	}
	after := *before
	sizes, err := m.sizes(x.Sizes)
	if err != nil {
		return err
	}
	for _, family := range slices.Sorted(maps.Keys(sizes)) {
		after.Resize(family, sizes[family], false)
	}
	m.recut(before, &after)
	said := m.differences(before, &after)
	if len(x.Sizes) > 0 && len(said) == 0 {
		return fmt.Errorf("that is how %s is entered already; %w", who(before), hint.Text{
			Command: "without --size what no longer fits is taken back",
			Desk:    "with no other size chosen, Exchange takes back what no longer fits",
		})
	}
	if unworn := m.unworn(&after, sizes); unworn != nil {
		return unworn
	}
	staff := before.StaffID
	if len(said) > 0 {
		if err := m.put(before, &after); err != nil {
			return err
		}
	}
	p, err := FindPerson(m.people, staff)
	if err != nil {
		return err
	}
	m.out.Kits = []Kit{{StaffID: p.StaffID, Name: p.Name}}
	kit := &m.out.Kits[0]
	if err := m.exchangeKit(p, kit, x.Propose); err != nil {
		return err
	}
	if len(said) == 0 && programme.PiecesOf(slices.Concat(kit.Picked, kit.Shelved, kit.Spent, kit.Proposed)...) == 0 {
		return fmt.Errorf("%s holds nothing of another size that new pieces are there for; %w", who(p),
			exchangeHint(kit))
	}
	what := "exchange"
	for _, s := range said {
		what += ", " + s
	}
	m.done.Text, m.about = who(p)+": "+what, p.StaffID+": "+what
	if err := m.propose(); err != nil {
		return err
	}
	if programme.PiecesOf(slices.Concat(kit.Picked, kit.Shelved, kit.Spent)...) == 0 {
		return nil
	}
	return m.papers("exchange")
}

func exchangeHint(kit *Kit) error {
	if len(kit.Kept) > 0 {
		return errors.New("what they hold is worn on until the new pieces come")
	}
	return hint.Text{Command: "name the new size with --size", Desk: "choose the new size"}
}

// exchangeKit exchanges garment by garment what a person has outgrown.
func (m *move) exchangeKit(p *programme.Person, kit *Kit, propose bool) error {
	role, ok := m.client.Role(p.Role)
	if !ok {
		return fmt.Errorf("the programme has no role %q, which %s has", p.Role, who(p))
	}
	lacks, err := m.lacks(p, kit)
	if err != nil {
		return err
	}
	// Orders that are there already bring these pieces as well: no second one is proposed for them.
	awaited, err := m.awaitedBy(p)
	if err != nil {
		return err
	}
	for _, cuts := range role.Cuts() {
		old, gone, err := m.outgrownOf(p, cuts)
		if err != nil {
			return err
		}
		lines := cuts[cuts.Worn(m.books.Shop, p)]
		l, now := lines.On(m.opt.On)
		if !now {
			l = lines.Newest()
		}
		g, made := m.books.Shop.Garment(l.Garment)
		if len(old)+len(gone) == 0 || !made {
			continue
		}
		if _, why := sizeFor(g, p); why != "" { // nobody knows of what would take their place
			kit.Kept = append(kit.Kept, lots(old)...)
			continue
		}
		left := 0
		for _, w := range lacks {
			if !cuts.Has(w.sku.Garment, w.sku.Colour) {
				continue
			}
			if left, err = m.pick(p, kit, w); err != nil {
				return err
			}
			m.rest(p, kit, w.sku, kit.await(w.sku, left, awaited), programme.CauseOwed, propose)
		}
		keep := min(left, len(old)) // the least worn are worn on
		kit.Kept = append(kit.Kept, lots(old[:keep])...)
		if err := m.takeBack(p, kit, append(old[keep:], gone...), m.opt.On, programme.SizeChange); err != nil {
			return err
		}
	}
	m.noteAwaited(p, kit, hint.Text{
		Command: fmt.Sprintf("'kitmuster exchange %s %s'", m.code, p.StaffID), Desk: "Exchange"})
	for _, u := range kit.Unsized {
		m.note("%s: %s", who(p), u)
	}
	return nil
}

// awaitedBy returns what orders that are there already bring for a person by name, and then what is on
// its way for nobody by name.
func (m *move) awaitedBy(p *programme.Person) (out []message.AwaitedLot, err error) {
	for _, states := range [][]reorder.State{reorder.OnItsWay(), reorder.Unsettled()} {
		list, err := m.coming(p.StaffID, states)
		if err != nil {
			return nil, err
		}
		out = append(out, list...)
	}
	pool, err := m.pooled([]string{p.StaffID})
	return append(out, pool...), err
}

// outgrownOf returns the pieces of one thing of a kit that no longer fit: those in use, the
// least worn first, and those that were read as thrown out when new ones came, of
// which nobody has said that they came back.
func (m *move) outgrownOf(p *programme.Person, cuts programme.Cuts) (inUse, gone []programme.Piece, err error) {
	all, err := m.traced(p, m.opt.On)
	if err != nil {
		return nil, nil, err
	}
	for i := range all {
		x := &all[i]
		switch {
		case !cuts.Has(x.SKU.Garment, x.SKU.Colour) || !m.outgrown(p, x.SKU):
		case x.Ended.IsZero():
			inUse = append(inUse, *x)
		default:
			gone = append(gone, *x)
		}
	}
	slices.SortStableFunc(inUse, func(a, b programme.Piece) int { return cmp.Compare(a.Washes, b.Washes) })
	return inUse, gone, nil
}

// traced returns the pieces that a person holds on a day, and whole ones that were
// read as thrown out because others were handed over. Of a leaver it is the last day.
func (m *move) traced(p *programme.Person, on programme.Date) ([]programme.Piece, error) {
	in, err := m.known()
	if err != nil {
		return nil, err
	}
	if !p.End.IsZero() {
		on = min(on, p.End)
	}
	own := slices.DeleteFunc(upTo(m.moves, on), func(x programme.Movement) bool { return x.StaffID != p.StaffID })
	h := in.Book.Trace(m.people, own, on)
	out := slices.Clone(h.InService)
	for i := range h.Ended {
		if x := &h.Ended[i]; x.Implied && x.Part == 0 {
			out = append(out, *x)
		}
	}
	return out, nil
}

// present finds a person who is there, or has yet to start.
func (m *move) present(word string) (*programme.Person, error) {
	p, err := FindPerson(m.people, word)
	if err != nil {
		return nil, err
	}
	if !p.End.IsZero() && p.End < m.opt.On {
		return nil, fmt.Errorf("%s left on %s", who(p), m.day(p.End))
	}
	return p, nil
}

// errNothingBack says that a person has nothing to hand back.
var errNothingBack = errors.New("nothing to take back")
