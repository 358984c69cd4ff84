package record

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/kitmuster/kitmuster/daemon/delivery"
	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/notify/message"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

// freeRef returns a ref of an entry that no row of the ledger has yet: a ledger that
// was exported and taken into new books may have brought those of old entries.
func freeRef(id int64, taken map[string]bool) string {
	for n := 1; ; n++ {
		ref := fmt.Sprintf("by-hand-%d-%d", id, n)
		if !taken[ref] {
			taken[ref] = true
			return ref
		}
	}
}

// want is pieces of one line that somebody lacks.
type want struct {
	sku    programme.SKU
	pieces int
	line   *programme.KitLine
}

// lacks returns what a person's kit lacks: pieces that fit count, whether the ledger has
// them or this entry hands them out. What nobody can size is named in the kit, and so
// is what is to follow on a later day.
func (m *move) lacks(p *programme.Person, kit *Kit) ([]want, error) {
	role, ok := m.client.Role(p.Role)
	if !ok {
		return nil, fmt.Errorf("the programme has no role %q, which %s has", p.Role, who(p))
	}
	held, err := m.fitting(p)
	if err != nil {
		return nil, err
	}
	var out []want
	day := max(m.opt.On, p.Start)
	for _, cuts := range role.Cuts() {
		lines := cuts[cuts.Worn(m.books.Shop, p)]
		on, l, ok := lines.NextWorn(day)
		if !ok || on != day { // over, or to be handed out when it begins
			continue
		}
		g, ok := m.books.Shop.Garment(l.Garment)
		if !ok {
			continue
		}
		size, why := sizeFor(g, p)
		if why != "" && !cuts.Told(m.books.Shop, p) {
			why = fmt.Sprintf("no size of %s is known, so nor which cut",
				strings.Join(cuts.Families(m.books.Shop), " or "))
		}
		there := 0
		for of := range cuts.Lines() {
			there += held[kitOf{of.Garment, of.Colour}]
		}
		n := l.EachOn(p.Start, day) - there
		if rest := l.Each - max(there, l.EachOn(p.Start, day)); rest > 0 && why == "" {
			kit.Later = append(kit.Later, restOf(lines, l, p, size, rest)...)
		}
		switch {
		case n <= 0:
		case why != "":
			kit.Unsized = append(kit.Unsized, fmt.Sprintf("%d × %s: %s", n, cmp.Or(g.Name, g.Code), why))
		default:
			out = append(out, want{programme.SKU{Garment: l.Garment, Colour: l.Colour, Size: size}, n, l})
		}
	}
	return out, nil
}

// restOf is the rest of a line that follows on its day, by the line that the kit has then.
func restOf(lines programme.Succession, l *programme.KitLine, p *programme.Person, size string,
	pieces int) []message.LaterLot {
	on, then, ok := lines.NextWorn(l.RestOn(p.Start))
	if !ok {
		return nil
	}
	k := programme.SKU{Garment: then.Garment, Colour: then.Colour, Size: size}
	return []message.LaterLot{{Lot: programme.Lot{SKU: k, Pieces: pieces}, On: on}}
}

type kitOf struct{ garment, colour string }

// fitting counts the pieces of a person that fit, by garment and colour.
func (m *move) fitting(p *programme.Person) (map[kitOf]int, error) {
	held, err := Held(m.books.Shop, m.client, m.people, m.moves, p.StaffID, max(m.opt.On, p.Start))
	if err != nil {
		return nil, err
	}
	out := map[kitOf]int{}
	for k, n := range held {
		if !m.outgrown(p, k) {
			out[kitOf{k.Garment, k.Colour}] += n
		}
	}
	return out, nil
}

// outgrown reports whether a piece is of a size, or of a cut, that the person changed from.
func (m *move) outgrown(p *programme.Person, k programme.SKU) bool {
	role, ok := m.client.Role(p.Role)
	return ok && role.Outgrown(m.books.Shop, p, k)
}

// sizeFor returns the size of a garment that a person takes, or why there is none.
func sizeFor(g *programme.Garment, p *programme.Person) (size, why string) {
	size = g.SizeOf(p)
	if size == "" {
		return "", fmt.Sprintf("no size of %s is known", g.SizeFamily)
	}
	if _, made := g.Size(size); !made {
		return "", fmt.Sprintf("not made in %s", size)
	}
	return size, ""
}

// pick takes pieces for a person off the shelf, worn ones that fit another wearer
// first, and hands them out.
func (m *move) pick(p *programme.Person, kit *Kit, w want) (left int, err error) {
	in, err := m.known()
	if err != nil {
		return 0, err
	}
	left = w.pieces
	for _, sku := range w.first() {
		lines, err := m.tx.TakeWorn(programme.FinishedGoods(m.code, sku), left, func(l programme.StockLine) bool {
			return l.Washes == 0 || in.StillFit(sku, float64(l.Washes))
		})
		if err != nil {
			return 0, err
		}
		for _, l := range lines {
			left -= l.Pieces
			kit.Picked = append(kit.Picked, programme.Lot{SKU: sku, Pieces: l.Pieces, Washes: l.Washes})
			m.rows = append(m.rows, programme.Movement{Date: m.opt.On, Kind: programme.Issued, StaffID: p.StaffID,
				SKU: sku, Pieces: l.Pieces, Washes: float64(l.Washes)})
		}
	}
	return left, nil
}

// coming returns what proposals in those states have for what a person's kit lacks and
// has not come; pieces that take the place of worn ones are none of the kit's lack.
func (m *move) coming(staff string, states []reorder.State) (out []message.AwaitedLot, err error) {
	list, err := m.tx.Proposals(m.code, states...)
	if err != nil {
		return nil, err
	}
	for i := range list {
		p := &list[i]
		for _, n := range p.Named {
			if left := n.Pieces - n.Got; n.StaffID == staff && left > 0 &&
				(n.Why == programme.CauseOwed || n.Why == programme.CauseHires) {
				out = append(out, message.AwaitedLot{Lot: programme.Lot{SKU: n.SKU, Pieces: left}, Proposal: p.Number,
					OnItsWay: slices.Contains(reorder.OnItsWay(), p.State)})
			}
		}
	}
	return out, nil
}

// pooled returns what is on its way for nobody by name, less what everybody but those named
// still lacks: an order was bought with starters in mind, and one who comes while it is on its
// way needs no second one.
func (m *move) pooled(but []string) (out []message.AwaitedLot, err error) {
	list, err := m.tx.Proposals(m.code, reorder.OnItsWay()...)
	if err != nil {
		return nil, err
	}
	for i := range list {
		for _, n := range list[i].Pool {
			if left := n.ForStarters + n.Spare - n.Got; left > 0 {
				out = append(out, message.AwaitedLot{Lot: programme.Lot{SKU: n.SKU, Pieces: left},
					Proposal: list[i].Number, OnItsWay: true, Unnamed: true})
			}
		}
	}
	if len(out) == 0 {
		return nil, nil
	}
	for i := range m.people {
		p := &m.people[i]
		if slices.Contains(but, p.StaffID) || !p.End.IsZero() && p.End < m.opt.On {
			continue
		}
		var kit Kit
		lacks, err := m.lacks(p, &kit)
		if err != nil { // whose role the programme does not have gets nothing
			continue
		}
		lacks = slices.DeleteFunc(lacks, func(w want) bool {
			return !slices.ContainsFunc(out, func(l message.AwaitedLot) bool { return l.SKU == w.sku })
		})
		if len(lacks) == 0 {
			continue
		}
		named, err := m.coming(p.StaffID, append(reorder.OnItsWay(), reorder.Unsettled()...))
		if err != nil {
			return nil, err
		}
		for _, w := range lacks {
			kit.await(w.sku, kit.await(w.sku, w.pieces, named), out)
		}
	}
	return out, nil
}

// await takes so many pieces out of what is coming, notes them, and returns how many are
// not coming.
func (k *Kit) await(sku programme.SKU, pieces int, coming []message.AwaitedLot) int {
	for i := range coming {
		l := coming[i]
		if n := min(pieces, l.Pieces); l.SKU == sku && n > 0 {
			coming[i].Pieces -= n
			l.Pieces = n
			k.Awaited = append(k.Awaited, l)
			pieces -= n
		}
	}
	return pieces
}

// first lists what may be handed out, what is to run out first.
func (w *want) first() []programme.SKU {
	if w.line.Change != programme.RunOut {
		return []programme.SKU{w.sku}
	}
	old := programme.SKU{Garment: w.line.InsteadOf.Garment, Colour: w.line.InsteadOf.Colour, Size: w.sku.Size}
	return []programme.SKU{old, w.sku}
}

// rest says what becomes of pieces that the shelf does not have: they are
// proposed, held where they protect their wearer, or wait for the next round.
func (m *move) rest(p *programme.Person, kit *Kit, k programme.SKU, pieces int, why programme.Cause, propose bool) {
	lot := programme.Lot{SKU: k, Pieces: pieces}
	g, _ := m.books.Shop.Garment(k.Garment)
	switch {
	case pieces <= 0:
	case g.Protective != programme.NotProtective:
		kit.Held = append(kit.Held, lot)
	case propose:
		kit.Proposed = append(kit.Proposed, lot)
		m.named = append(m.named, reorder.Named{StaffID: p.StaffID, SKU: k, Pieces: pieces, Why: why, PEnd: 1})
	default:
		kit.Waiting = append(kit.Waiting, lot)
	}
}

// propose stores what the move proposes, with the mail that asks the customer.
func (m *move) propose() error {
	if len(m.named) == 0 {
		return nil
	}
	p, err := m.direct(nil)
	if err != nil || m.opt.Try {
		return err
	}
	to, _ := m.books.ReturnTo(p) // else the answer goes to the manager, as the next round tells
	mail, err := message.ComposeReorder(message.Reorder{Shop: m.books.Shop, Client: m.client, Proposal: p,
		People: m.people, ReturnTo: to})
	if err != nil {
		return err
	}
	return m.send(mail, p.Number)
}

// direct makes a proposal of the pieces named and some for nobody yet. Blanks on
// the shop's shelf are used first. Of a trial it has no number and is not stored.
func (m *move) direct(spare []reorder.LineChange) (*reorder.Proposal, error) {
	p, err := reorder.Direct(m.books.Shop, m.client, m.opt.On, m.named, spare)
	if err != nil {
		return nil, err
	}
	blanks, err := m.blanks()
	if err != nil {
		return nil, err
	}
	p.UseBlanks(m.books.Shop, m.client, blanks)
	p.GuessTransfers(m.books.Shop, m.client)
	m.out.Proposal = p
	if m.opt.Try {
		return p, nil
	}
	if m.number == 0 {
		return nil, errNumber
	}
	p.Number = m.number
	m.journal.Made(p.Number)
	return p, m.tx.AddProposal(store.NoRound, p)
}

// blanks returns the undecorated pieces on the shop's shelf.
func (m *move) blanks() (map[programme.SKU]int, error) {
	stock, err := m.tx.Stock()
	out := map[programme.SKU]int{}
	for goods, p := range programme.Positions(stock, 0) {
		if goods.Kind == programme.Blank {
			out[goods.SKU()] = p.OnHand
		}
	}
	return out, err
}

// send puts a mail into the outbox and, where it has one, its form for the customer
// beside it.
func (m *move) send(mail message.Mail, proposal int64) error {
	from := m.opt.From
	if from.Email == "" {
		from = m.books.Shop.Owner
	}
	e := delivery.Envelope{From: from, Date: m.opt.Now.In(m.books.Zone()), Client: m.code, Proposal: proposal}
	if m.opt.Now.IsZero() {
		e.Date = m.tx.Now.In(m.books.Zone())
	}
	letters, err := delivery.SealForCustomer(mail, e, m.client)
	if err != nil {
		return err
	}
	return m.tx.EnqueueAll(letters)
}

// takeBack ends pieces that a person hands back and puts those that may be worn on
// onto the shelf with their wear. Those in the ledger as in use end on the day;
// those that were read as thrown out when others came end on that day, as handed
// back. Protective clothing is never put back: nobody here can judge it.
func (m *move) takeBack(p *programme.Person, kit *Kit, pieces []programme.Piece, on programme.Date,
	why programme.Reason) error {
	in, err := m.known()
	if err != nil {
		return err
	}
	type batch struct {
		sku    programme.SKU
		day    programme.Date
		washes int
		shelf  bool
	}
	n, order := map[batch]int{}, []batch{}
	for i := range pieces {
		x := &pieces[i]
		b := batch{sku: x.SKU, day: on, washes: max(1, int(math.Round(x.Washes)))}
		if !x.Ended.IsZero() {
			b.day = x.Ended
		}
		g, _ := m.books.Shop.Garment(x.SKU.Garment)
		b.shelf = in.Fit(x.SKU, x.Washes) && g.Protective == programme.NotProtective
		if n[b] == 0 {
			order = append(order, b)
		}
		n[b]++
	}
	var shelf []programme.StockLine
	for _, b := range order {
		row := programme.Movement{Date: b.day, Kind: programme.Ended, StaffID: p.StaffID, SKU: b.sku, Pieces: n[b],
			Reason: why}
		lot := programme.Lot{SKU: b.sku, Pieces: n[b], Washes: b.washes}
		if b.shelf {
			row.Washes = float64(b.washes)
			shelf = append(shelf, programme.StockLine{AsOf: m.opt.On, Goods: programme.FinishedGoods(m.code, b.sku),
				Pieces: n[b], Washes: b.washes})
			kit.Shelved = append(kit.Shelved, lot)
		} else {
			kit.Spent = append(kit.Spent, lot)
		}
		m.rows = append(m.rows, row)
	}
	return m.tx.AddStock(shelf)
}

// inHand returns the pieces that a person holds on a day, the least worn first.
func (m *move) inHand(p *programme.Person, on programme.Date) ([]programme.Piece, error) {
	all, err := m.traced(p, on)
	out := slices.DeleteFunc(all, func(x programme.Piece) bool { return !x.Ended.IsZero() })
	slices.SortStableFunc(out, func(a, b programme.Piece) int { return cmp.Compare(a.Washes, b.Washes) })
	return out, err
}

// lots joins pieces by garment, colour and size.
func lots(pieces []programme.Piece) []programme.Lot {
	var out []programme.Lot
	for i := range pieces {
		k := pieces[i].SKU
		at := slices.IndexFunc(out, func(l programme.Lot) bool { return l.SKU == k })
		if at < 0 {
			out = append(out, programme.Lot{SKU: k})
			at = len(out) - 1
		}
		out[at].Pieces++
	}
	return out
}
