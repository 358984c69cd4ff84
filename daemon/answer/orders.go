package answer

import (
	"context"
	"errors"
	"fmt"
	"slices"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/hint"
	"github.com/kitmuster/kitmuster/daemon/journal"
	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/daemon/supply"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/reorder"
	"github.com/kitmuster/kitmuster/programme/sheet"
)

// sent notes that an order went to its supplier: its sheets are ordered, and the
// blanks of pieces to be made again are bought or taken off the shelf.
func (s *step) sent(o *supply.Order) error {
	if err := s.journal.Order(o.Number); err != nil {
		return err
	}
	for _, n := range o.Proposals {
		if err := s.journal.Proposal(n); err != nil {
			return err
		}
	}
	for _, id := range o.Sheets {
		if err := s.tx.MoveSheetOrder(id, sheet.Ordered); err != nil {
			return err
		}
	}
	for i := range o.Blanks {
		if err := s.boughtAgain(&o.Blanks[i]); err != nil {
			return err
		}
	}
	o.State = store.OrderOrdered
	return o.Put(s.tx)
}

// boughtAgain notes that the blanks of pieces to be made again are seen to.
func (s *step) boughtAgain(b *supply.Blank) error {
	if !b.Again {
		return nil
	}
	return s.onProposal(b.Proposal, func(p *reorder.Proposal) error {
		l := p.Line(b.SKU)
		if l == nil {
			return nil
		}
		taken, err := s.tx.TakeStock(programme.BlankGoods(b.SKU), b.Shelf)
		l.SetAside += taken
		l.ToRemake = max(0, l.ToRemake-b.Pieces-taken)
		return err
	})
}

// onProposal changes a proposal, this one or another.
func (s *step) onProposal(number int64, f func(*reorder.Proposal) error) error {
	if number == s.out.Proposal.Number {
		return f(&s.out.Proposal)
	}
	p, err := s.tx.Proposal(number)
	if err != nil {
		return err
	}
	if err := s.journal.Proposal(number); err != nil {
		return err
	}
	if err := f(&p); err != nil {
		return err
	}
	return s.tx.PutProposalBody(&p)
}

// warnOfOthers names the proposals on an order that are not ordered yet.
func (s *step) warnOfOthers(o *supply.Order) {
	for _, n := range o.Proposals {
		if n != s.answer.Number && !slices.Contains(o.With, n) {
			s.notice("Order %d to %s is for proposal %d as well: %s.", o.Number,
				s.shop.SupplierName(o.Supplier), n, hint.Text{
					Command: fmt.Sprintf("record that with 'kitmuster proposal ordered %d'", n),
					Desk:    "say so on its page",
				})
		}
	}
}

// dropDrafts drops the written orders that carry the proposal: what is in them
// is not what is wanted any more.
func (s *step) dropDrafts() error {
	told, err := DropDrafts(s.tx, s.shop, s.answer.Number, "it has other numbers", func(o *supply.Order) (bool, error) {
		return true, s.journal.Order(o.Number)
	})
	s.out.Notices = append(s.out.Notices, told...)
	return err
}

// DropDrafts drops the written orders that carry a proposal and that drop does not keep, and returns a
// sentence about each, with the reason.
func DropDrafts(tx *store.Tx, shop *programme.Shop, number int64, why string,
	drop func(*supply.Order) (bool, error)) (told []hint.Text, err error) {
	orders, err := supply.OrdersOf(tx, number, store.OrderWritten)
	if err != nil {
		return nil, err
	}
	for i := range orders {
		o := &orders[i]
		if ok, err := drop(o); err != nil || !ok {
			if err != nil {
				return nil, err
			}
			continue
		}
		o.State = store.OrderDropped
		if err := o.Put(tx); err != nil {
			return nil, err
		}
		told = append(told, hint.Sprintf("Do not send order %d to %s: %s. %s writes it anew.", o.Number,
			shop.SupplierName(o.Supplier), why, hint.Text{Command: pageOrders.Command, Desk: "The page Orders"}))
	}
	return told, nil
}

// takeOff takes a cancelled proposal off the orders that were sent.
func (s *step) takeOff() error {
	return s.eachOrder(func(o *supply.Order) {
		if o.Without(s.answer.Number) {
			o.State = store.OrderDropped
		}
	})
}

// handedOver notes that orders have come of which every proposal is received.
func (s *step) handedOver() error {
	var err error
	all := s.eachOrder(func(o *supply.Order) {
		for _, n := range o.Proposals {
			if n == s.answer.Number || slices.Contains(o.With, n) {
				continue
			}
			other, oerr := s.tx.Proposal(n)
			if err = errors.Join(err, oerr); other.State != reorder.Received {
				return
			}
		}
		o.State = store.OrderArrived
	})
	return errors.Join(err, all)
}

// eachOrder changes the sent orders that carry the proposal.
func (s *step) eachOrder(f func(*supply.Order)) error {
	orders, err := supply.OrdersOf(s.tx, s.answer.Number, store.OrderOrdered)
	if err != nil {
		return err
	}
	for i := range orders {
		if err := s.journal.Order(orders[i].Number); err != nil {
			return err
		}
		f(&orders[i])
		if err := orders[i].Put(s.tx); err != nil {
			return err
		}
	}
	return nil
}

// Goods lists what a supplier delivered of an order.
type Goods struct {
	Order int64
	Day   programme.Date
	// Came are blanks that came, Back those that come on BackOn and not before.
	// Without either, everything that is outstanding came, sheets included.
	Came, Back []reorder.LineChange
	BackOn     programme.Date
	// Sheets says that the sheets came.
	Sheets bool
}

// pageOrders writes what is to be bought; allOrders shows what was.
var (
	pageOrders = hint.Text{Command: "'kitmuster orders'", Desk: "the page Orders"}
	allOrders  = hint.Text{Command: "; 'kitmuster orders list' shows them all"}
)

// OrderDone is the result of an entry about orders.
type OrderDone struct {
	Orders []supply.Order
	// Moved are the proposals that are ordered now.
	Moved   []int64
	Notices []hint.Text
}

// Sent records that orders went to their suppliers (all that are written where
// none is numbered), as one entry that undo takes back. Proposals of which no
// order is left to send are ordered. With try nothing is kept.
func Sent(ctx context.Context, b *books.Books, day programme.Date, numbers []int64, try bool) (OrderDone, error) {
	var done OrderDone
	err := ofNoClient(ctx, b, try, func(tx *store.Tx, id int64, j *journal.Journal) (string, error) {
		orders, err := toSend(tx, numbers)
		if err != nil {
			return "", err
		}
		s := step{tx: tx, shop: b.Shop, answer: Answer{Day: day}, out: &Outcome{}, entry: id, journal: j}
		var all []int64
		for i := range orders {
			if err := notBefore(b.Shop, &orders[i], day, "gone out"); err != nil {
				return "", err
			}
			if err := s.sent(&orders[i]); err != nil {
				return "", err
			}
			all = append(all, orders[i].Proposals...)
		}
		slices.Sort(all)
		for _, n := range slices.Compact(all) {
			out, err := sendProposal(ctx, tx, b, n, day, id, j)
			if err != nil {
				return "", err
			}
			if out != nil {
				done.Moved = append(done.Moved, n)
				s.out.Notices = append(s.out.Notices, out.Notices...)
			}
		}
		done.Orders, done.Notices = orders, s.out.Notices
		return "sent " + orderWords(orders), nil
	})
	return done, err
}

// notBefore refuses a day before the order was written, which a slip in the date makes.
func notBefore(shop *programme.Shop, o *supply.Order, day programme.Date, what string) error {
	if day < o.AsOf {
		return fmt.Errorf("order %d was written on %s; it cannot have %s on %s", o.Number, shop.DateStyle.Date(o.AsOf),
			what, shop.DateStyle.Date(day))
	}
	return nil
}

// toSend returns the written orders among those numbered, or all.
func toSend(tx *store.Tx, numbers []int64) ([]supply.Order, error) {
	all, err := supply.OrdersOf(tx, 0, store.OrderWritten)
	if err != nil {
		return nil, err
	}
	if len(numbers) == 0 {
		if len(all) == 0 {
			return nil, fmt.Errorf("no order is written that was not sent; %w writes them", pageOrders)
		}
		return all, nil
	}
	var out []supply.Order
	for k, n := range numbers {
		if slices.Contains(numbers[:k], n) { // to be sent once
			continue
		}
		i := slices.IndexFunc(all, func(o supply.Order) bool { return o.Number == n })
		if i < 0 {
			o, err := tx.SupplierOrder(n)
			if err != nil {
				return nil, fmt.Errorf("%w%w", err, allOrders)
			}
			return nil, fmt.Errorf("order %d is %s; only one that is written can be sent", n, o.State)
		}
		out = append(out, all[i])
	}
	return out, nil
}

// sendProposal moves an accepted proposal on, once all its orders are sent.
func sendProposal(ctx context.Context, tx *store.Tx, b *books.Books, number int64, day programme.Date, id int64,
	j *journal.Journal) (*Outcome, error) {
	p, err := tx.Proposal(number)
	if err != nil || p.State != reorder.Accepted {
		return nil, err
	}
	left, err := supply.OrdersOf(tx, number, store.OrderWritten)
	if err != nil || len(left) > 0 {
		return nil, err
	}
	client, err := b.Client(ctx, p.Client)
	if err != nil {
		return nil, err
	}
	out, err := Record(tx, b.Shop, client, Answer{Number: number, Event: reorder.Order, Day: max(day, p.Since())}, id,
		j)
	return &out, err
}

// Arrived records goods that came from a supplier against the order's number, as
// one entry that undo takes back. With try nothing is kept.
func Arrived(ctx context.Context, b *books.Books, g Goods, try bool) (OrderDone, error) {
	var done OrderDone
	err := ofNoClient(ctx, b, try, func(tx *store.Tx, id int64, j *journal.Journal) (string, error) {
		row, err := tx.SupplierOrder(g.Order)
		if err != nil {
			return "", fmt.Errorf("%w%w", err, allOrders)
		}
		if row.State != store.OrderOrdered {
			return "", fmt.Errorf("order %d is %s; goods come for orders that were sent%w", g.Order, row.State,
				hint.Text{Command: fmt.Sprintf(": kitmuster orders sent %d", g.Order)})
		}
		s := step{tx: tx, shop: b.Shop, answer: Answer{Day: g.Day}, out: &Outcome{}, entry: id, journal: j}
		o, err := supply.One(tx, g.Order)
		if err != nil {
			return "", err
		}
		if err := notBefore(b.Shop, &o, g.Day, "come"); err != nil {
			return "", err
		}
		if err := s.take(&o, &g); err != nil {
			return "", fmt.Errorf("order %d: %w", g.Order, err)
		}
		done.Orders, done.Notices = []supply.Order{o}, s.out.Notices
		return fmt.Sprintf("goods of order %d on %s", g.Order, b.Shop.DateStyle.Date(g.Day)), nil
	})
	return done, err
}

// surplus says where blanks go that came beyond what was ordered: so many are entered with the order, the rest as
// other goods.
func surplus(k programme.SKU, with, rest int) hint.Text {
	return hint.Text{
		Command: fmt.Sprintf("; enter %d with the order, and the other %d with 'kitmuster receive blank %s %d'", with,
			rest, k, rest),
		Desk: fmt.Sprintf("; enter %d with the order, and the other %d under “Other goods that came”", with, rest),
	}
}

// take books what came of one order.
func (s *step) take(o *supply.Order, g *Goods) error {
	if err := s.journal.Order(o.Number); err != nil {
		return err
	}
	sheets, err := s.sheetsOf(o)
	if err != nil {
		return err
	}
	all := len(g.Came) == 0 && len(g.Back) == 0 && !g.Sheets
	if all {
		ordered := func(so store.SheetOrder) bool { return so.State == sheet.Ordered }
		o.TakeBy(g.Day, slices.ContainsFunc(sheets, ordered))
	}
	for _, c := range g.Came {
		if left := o.Take(c.SKU, c.Pieces); left > 0 {
			return fmt.Errorf("%s: %d came, but only %d of it are still to come%w", Name(s.shop, c.SKU), c.Pieces,
				c.Pieces-left, surplus(c.SKU, c.Pieces-left, left))
		}
	}
	for _, c := range g.Back {
		if err := s.backOrder(o, c, g.BackOn); err != nil {
			return err
		}
	}
	open := 0
	for i := range sheets {
		switch {
		case sheets[i].State != sheet.Ordered:
		case all || g.Sheets:
			if err := s.sheetsCame(&sheets[i]); err != nil {
				return err
			}
		default:
			open++
		}
	}
	if o.Outstanding() == 0 && open == 0 {
		o.State = store.OrderArrived
	}
	return o.Put(s.tx)
}

// sheetsOf reads the sheets of an order.
func (s *step) sheetsOf(o *supply.Order) (out []store.SheetOrder, err error) {
	seen := map[int64]bool{}
	for _, n := range o.Proposals {
		if err := s.journal.Proposal(n); err != nil {
			return nil, err
		}
		list, err := s.tx.SheetOrdersOf(n)
		if err != nil {
			return nil, err
		}
		for _, so := range list {
			if slices.Contains(o.Sheets, so.ID) && !seen[so.ID] {
				seen[so.ID] = true
				out = append(out, so)
			}
		}
	}
	return out, nil
}

// backOrder tells the proposals that wait for blanks which come later: the pieces
// of the least urgent ones are on back-order until they can be pressed.
func (s *step) backOrder(o *supply.Order, c reorder.LineChange, on programme.Date) error {
	if on <= s.answer.Day {
		return fmt.Errorf("%s is on back-order until %s, which is not after %s", c.SKU, s.date(on),
			s.date(s.answer.Day))
	}
	left := c.Pieces
	for i := len(o.Blanks) - 1; i >= 0 && left > 0; i-- {
		x := &o.Blanks[i]
		n := min(left, x.Outstanding())
		if x.SKU != c.SKU || n == 0 {
			continue
		}
		left -= n
		x.BackOrders = reorder.BackOrdersWith(x.BackOrders, reorder.BackOrder{Pieces: n, On: on}, x.Outstanding())
		err := s.onProposal(x.Proposal, func(p *reorder.Proposal) error {
			ready := reorder.Lead{Press: s.shop.PressDays, Delivery: s.shop.DeliveryDays,
				Closed: s.shop.Closed}.Arrival(on)
			p.BackOrder(x.SKU, n, ready)
			s.notice("%d × %s of proposal %d (%s) come on %s and are in hands by %s.", n, s.name(x.SKU), p.Number,
				p.Client, s.date(on), s.date(ready))
			return nil
		})
		if err != nil {
			return err
		}
	}
	if left > 0 {
		return fmt.Errorf("%s: %d on back-order, but only %d of it are still to come", c.SKU, c.Pieces, c.Pieces-left)
	}
	return nil
}

// ofNoClient runs one entry of no client in particular; with try nothing is kept.
func ofNoClient(ctx context.Context, b *books.Books, try bool,
	f func(*store.Tx, int64, *journal.Journal) (string, error)) error {
	return b.Store.Trial(ctx, try, func(tx *store.Tx) error {
		return entry(tx, "", func(id int64, j *journal.Journal) (string, error) { return f(tx, id, j) })
	})
}

func orderWords(list []supply.Order) string {
	words := programme.Listing(list, func(o supply.Order) string { return fmt.Sprint(o.Number) })
	if len(list) == 1 {
		return "order " + words
	}
	return "orders " + words
}
