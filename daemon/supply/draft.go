package supply

import (
	"context"
	"errors"
	"fmt"
	"reflect"
	"slices"
	"strings"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/hint"
	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/notify/message"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/reorder"
	"github.com/kitmuster/kitmuster/programme/sheet"
)

// Wish says for which proposals orders are written.
type Wish struct {
	// Numbers are accepted proposals, or ordered ones with pieces to be made again;
	// none = all of them.
	Numbers []int64
	// With are proposals without an answer whose transfers are printed as well.
	With []int64
	// Spares says what may be printed for a client where a sheet has room; nil =
	// nothing. It is offered and, with Room, printed.
	Spares func(context.Context, *Job) ([]sheet.Spare, error)
	Room   bool
	// Try writes nothing: no number is given out.
	Try bool
}

// Ordering is the orders to suppliers for some proposals, and the sheets that
// were laid out for these alone.
type Ordering struct {
	Orders []Draft
	// Undecided are the open proposals that could share the sheets.
	Undecided []Undecided
	// Replaced are the written orders in whose place Commit has put these.
	Replaced []int64
	layout   *layout
}

// Proposals returns the numbers of the proposals that the orders were written for.
func (o *Ordering) Proposals() (numbers []int64) {
	if o.layout == nil {
		return nil
	}
	for i := range o.layout.jobs {
		numbers = append(numbers, o.layout.jobs[i].Proposal.Number)
	}
	return numbers
}

// Draft is one order with the mail that carries it.
type Draft struct {
	Order
	Mail message.Mail
	// SendBy is the last day on which the supplier must have it so that what was promised
	// to the clients still holds; it may be over.
	SendBy programme.Date
	sheets []store.SheetOrder
}

// When says by which day the order is to be sent.
func (d *Draft) When(asOf programme.Date, day func(programme.Date) string) string {
	switch {
	case d.SendBy.IsZero():
		return ""
	case d.SendBy <= asOf:
		return "send it today"
	}
	return "send it by " + day(d.SendBy)
}

// Undecided says of a proposal without a yes what printing its transfers with
// the others costs now, and what printing them later by themselves would.
type Undecided struct {
	Number int64
	Client string
	With   bool // named by the owner: it is in the orders
	// PutOff is the day until which the client put it off; no date = no answer yet.
	PutOff programme.Date
	// More is the cost it adds to the sheets, Alone the cost of its sheets by themselves.
	More, Alone programme.Money
	// Until is the last day on which an answer still shares the sheets.
	Until programme.Date
}

// Drafts composes one order to each supplier: blanks to buy for accepted
// proposals and for pieces to be made again, and sheets laid out anew for their
// transfers alone, after what is set aside for them.
func Drafts(ctx context.Context, b *books.Books, asOf programme.Date, w Wish) (*Ordering, error) {
	jobs, err := wished(ctx, b, w)
	if err != nil {
		return nil, err
	}
	out := &Ordering{}
	if len(jobs) == 0 {
		return out, nil
	}
	if err := approved(b.Shop, asOf, jobs); err != nil {
		return nil, err
	}
	free, err := b.Store.Stock(ctx)
	if err != nil {
		return nil, err
	}
	how := sheet.Request{Budget: Thoroughly(b), Fill: w.Room}
	for i := range jobs {
		if w.Spares == nil {
			break
		}
		spares, err := w.Spares(ctx, &jobs[i])
		if err != nil {
			return nil, err
		}
		how.Spares = append(how.Spares, spares...)
	}
	if out.layout, err = layOut(b.Shop, asOf, jobs, free, how); err != nil {
		return nil, err
	}
	if out.Undecided, err = undecided(ctx, b, asOf, jobs, w, free); err != nil {
		return nil, err
	}
	d := drafts{shop: b.Shop, asOf: asOf, by: map[string]*Draft{}}
	d.blanks(jobs, free)
	d.sheets(out.layout)
	out.Orders = d.list()
	return out, out.compose(ctx, b, asOf, w)
}

// approved refuses to print what a client has not approved, and names that nobody
// knows how to print.
func approved(shop *programme.Shop, asOf programme.Date, jobs []Job) error {
	for i := range jobs {
		if err := jobs[i].namesKnown(shop); err != nil {
			return err
		}
		for _, n := range jobs[i].Needs(shop, asOf) {
			a, ok := shop.Artwork(n.Artwork)
			if !ok || a.Printable() {
				continue
			}
			v, _ := a.Awaiting()
			return fmt.Errorf("%s, version %s, which proposal %d needs, has no day of approval: when the client has said yes to it, write it as approved: DATE into shop.yaml",
				a.Code, v.Version, jobs[i].Proposal.Number)
		}
	}
	return nil
}

// namesKnown names the first person of the proposal who is to have a name on a piece
// and of whom it cannot be printed.
func (j *Job) namesKnown(shop *programme.Shop) error {
	p := j.Proposal
	for _, x := range j.Client.Unprintable(shop, j.People, max(p.Arrives, p.AsOf)) {
		for i := range p.Named {
			n := &p.Named[i]
			if n.StaffID == x.Person.StaffID && n.Garment == x.Garment && n.Got < n.Pieces {
				return fmt.Errorf("proposal %d has a piece with a name on it for %s %s, and %w; enter the name %w, or - for none",
					p.Number, x.Person.StaffID, x.Person.Name, x.Why, hint.Text{
						Command: fmt.Sprintf("with 'kitmuster change %s %s --print-name NAME'", j.Client.Code, x.Person.StaffID),
						Desk:    "under Name on garments",
					})
			}
		}
	}
	return nil
}

// mostParts is for how many transfer kinds, printers and parts of a large need
// the full number of tries is spent; more of them share it.
const mostParts = 3

// Thoroughly returns the search for sheets that will be bought. It counts tries, so
// that the same books give the same sheets on every machine.
func Thoroughly(b *books.Books) sheet.Budget {
	return sheet.Budget{Iterations: b.Search, Most: mostParts * b.Search}
}

// wished reads the proposals to buy for, the oldest first.
func wished(ctx context.Context, b *books.Books, w Wish) (jobs []Job, err error) {
	err = b.Store.InTx(ctx, func(tx *store.Tx) error {
		all := append(slices.Clone(w.Numbers), w.With...)
		if len(w.Numbers) == 0 {
			list, err := tx.Proposals("", reorder.OnItsWay()...)
			if err != nil {
				return err
			}
			for i := range list {
				if pressable(&list[i]) {
					all = append(all, list[i].Number)
				}
			}
		}
		slices.Sort(all)
		for _, n := range slices.Compact(all) {
			p, err := tx.Proposal(n)
			if err != nil {
				return err
			}
			if err := allowed(&p, slices.Contains(w.With, n)); err != nil {
				return err
			}
			client, err := b.Client(ctx, p.Client)
			if err != nil {
				return err
			}
			j, err := Read(tx, client, &p)
			if err != nil {
				return err
			}
			jobs = append(jobs, j)
		}
		return nil
	})
	others := func(j Job) bool { return !slices.Contains(w.With, j.Proposal.Number) }
	if err == nil && len(jobs) > 0 && !slices.ContainsFunc(jobs, others) {
		return nil, errors.New("there is no accepted proposal that the ones named with --with could share sheets with")
	}
	return jobs, err
}

// allowed says why nothing is bought for a proposal.
func allowed(p *reorder.Proposal, with bool) error {
	open := slices.Contains(reorder.Unsettled(), p.State)
	switch {
	case with && open, !with && pressable(p):
		return nil
	case with && p.State == reorder.Accepted:
		return fmt.Errorf("proposal %d is accepted, so it is ordered anyway; --with is for those without an answer",
			p.Number)
	case onOrder(p.State):
		return fmt.Errorf("proposal %d is %s already, and no piece of it is to be made again", p.Number, p.State)
	case !with && open:
		return fmt.Errorf("proposal %d is %s; orders are written for accepted proposals. With one of those, '--with %d' prints its transfers on the same sheets",
			p.Number, p.State, p.Number)
	}
	return fmt.Errorf("proposal %d is %s; nothing is bought for it", p.Number, p.State)
}

// mostUndecided is the number of open proposals that are tried on the sheets.
const mostUndecided = 12

// undecided tries each open proposal on the sheets of the others, with a quick
// look at each: they are only compared.
func undecided(ctx context.Context, b *books.Books, asOf programme.Date, jobs []Job, w Wish,
	free []programme.StockLine) ([]Undecided, error) {
	l, err := layOut(b.Shop, asOf, jobs, free, sheet.Request{})
	if err != nil {
		return nil, err
	}
	var others []Job
	err = b.Store.InTx(ctx, func(tx *store.Tx) error {
		list, err := tx.Proposals("", reorder.Unsettled()...)
		if err != nil {
			return err
		}
		for i := range list[:min(len(list), mostUndecided)] {
			client, err := b.Client(ctx, list[i].Client)
			if err != nil {
				continue // a programme that does not read any more is told elsewhere
			}
			j, err := Read(tx, client, &list[i])
			if err != nil {
				return err
			}
			others = append(others, j)
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	var out []Undecided
	for _, j := range slices.Backward(others) { // the oldest first
		u, shares, err := try(b.Shop, asOf, l, j, slices.Contains(w.With, j.Proposal.Number), free)
		if err != nil {
			return nil, err
		}
		if shares {
			out = append(out, u)
		}
	}
	return out, nil
}

// try lays the sheets out with and without one proposal.
func try(shop *programme.Shop, asOf programme.Date, l *layout, j Job, with bool,
	free []programme.StockLine) (Undecided, bool, error) {
	u := Undecided{Number: j.Proposal.Number, Client: j.Proposal.Client, With: with}
	if j.Proposal.State == reorder.PutOff {
		u.PutOff = j.Proposal.Until
	}
	own := slices.DeleteFunc(slices.Clone(l.jobs), func(x Job) bool { return x.Proposal.Number == u.Number })
	alone, err := layOut(shop, asOf, []Job{j}, free, sheet.Request{})
	if err != nil {
		return u, false, err
	}
	without, both := l, l
	if with {
		without, err = layOut(shop, asOf, own, free, sheet.Request{})
	} else {
		both, err = layOut(shop, asOf, append(own, j), free, sheet.Request{})
	}
	if err != nil {
		return u, false, err
	}
	u.Alone, u.More = alone.Cost.Total(), both.Cost.Total()-without.Cost.Total()
	shares := false
	for i := range alone.Orders {
		for k := range without.Orders {
			if alone.Orders[i].Kind != without.Orders[k].Kind {
				continue
			}
			shares = true
			so := without.sheetOrder(&without.Orders[k])
			u.Until = u.Until.Earlier(without.orderBy(shop, &so))
		}
	}
	return u, shares || with, nil
}

// drafts gathers what is bought from each supplier.
type drafts struct {
	shop *programme.Shop
	asOf programme.Date
	by   map[string]*Draft
}

func (d *drafts) of(supplier string, number int64) *Draft {
	o := d.by[supplier]
	if o == nil {
		o = &Draft{Order: Order{SupplierOrder: store.SupplierOrder{Supplier: supplier, AsOf: d.asOf,
			State: store.OrderWritten}}}
		d.by[supplier] = o
	}
	if !slices.Contains(o.Proposals, number) {
		o.Proposals = append(o.Proposals, number)
	}
	return o
}

// blanks adds those of the yeses, and for pieces to be made again what the shelf
// does not hold.
func (d *drafts) blanks(jobs []Job, shelf []programme.StockLine) {
	free := map[programme.SKU]int{}
	for _, l := range shelf {
		if l.Kind == programme.Blank && l.Expected.IsZero() {
			free[l.SKU()] += l.Pieces
		}
	}
	for i := range jobs {
		p := jobs[i].Proposal
		for j := range p.Lines {
			l := &p.Lines[j]
			g, ok := d.shop.Garment(l.Garment)
			if !ok || !p.State.Coming() {
				continue
			}
			add := func(x Blank) {
				x.Proposal, x.SKU, x.UnitCost = p.Number, l.SKU, l.UnitCost
				o := d.of(g.Supplier, p.Number)
				o.Blanks = append(o.Blanks, x)
			}
			if p.State == reorder.Accepted && l.Buy > 0 {
				add(Blank{Pieces: l.Buy})
			}
			if n := l.ToRemake; n > 0 {
				there := min(n, free[l.SKU])
				free[l.SKU] -= there
				add(Blank{Pieces: n - there, Shelf: there, Again: true})
			}
		}
	}
}

// sheets adds each kind's sheets to its printer's order.
func (d *drafts) sheets(l *layout) {
	for i := range l.Orders {
		so := l.sheetOrder(&l.Orders[i])
		for _, n := range so.Numbers {
			o := d.of(l.Orders[i].Printer, n)
			if n == so.Numbers[0] {
				o.sheets, o.printed = append(o.sheets, so), true
			}
			for j := range l.jobs {
				if p := l.jobs[j].Proposal; p.Number == n && !p.State.Coming() && !slices.Contains(o.With, n) {
					o.With = append(o.With, n)
				}
			}
		}
	}
}

func (d *drafts) list() []Draft {
	var out []Draft
	for _, o := range d.by {
		slices.Sort(o.Proposals)
		slices.Sort(o.With)
		out = append(out, *o)
	}
	slices.SortFunc(out, func(a, b Draft) int { return strings.Compare(a.Supplier, b.Supplier) })
	return out
}

// compose numbers the orders and writes their mails.
func (o *Ordering) compose(ctx context.Context, b *books.Books, asOf programme.Date, w Wish) error {
	if !w.Try {
		n, err := b.Store.ReserveMore(ctx, store.Wanted{Orders: len(o.Orders)})
		if err != nil {
			return err
		}
		for i := range o.Orders {
			o.Orders[i].Number = n.Order + int64(i)
		}
	}
	for i := range o.Orders {
		d := &o.Orders[i]
		m := message.SupplierOrder{Shop: b.Shop, Supplier: d.Supplier, Number: d.Number, AsOf: asOf,
			NeededBy: o.layout.neededBy(b.Shop, d.Proposals, asOf), Blanks: sums(d.Blanks)}
		for j := range d.sheets {
			so := &d.sheets[j]
			s := message.SheetToOrder{Order: so.Plan.Order, Lines: so.Plan.Lines, OrderBy: o.layout.orderBy(b.Shop, so)}
			var err error
			// the round has told its warnings
			if s.Proofs, _, err = Proofs(b.Home, b.Shop, asOf, &so.Plan.Order, so.Plan.Lines,
				clientNames(ctx, b, so.Plan.Lines)); err != nil {
				return err
			}
			s.Prints, s.Unprinted = prints(b.Home, b.Shop, asOf, &so.Plan.Order, so.Plan.Lines)
			m.Sheets = append(m.Sheets, s)
			d.SendBy = d.SendBy.Earlier(s.OrderBy)
		}
		d.SendBy = d.SendBy.Earlier(o.layout.blanksBy(d))
		var err error
		if d.Mail, err = message.ComposeSupplierOrder(m); err != nil {
			return err
		}
	}
	return nil
}

// sums adds blanks up by garment, colour and size.
func sums(list []Blank) []message.BlankLine {
	var out []message.BlankLine
	at := map[programme.SKU]int{}
	for i := range list {
		x := &list[i]
		if x.Pieces == 0 {
			continue
		}
		if k, there := at[x.SKU]; there {
			out[k].Pieces += x.Pieces
			continue
		}
		at[x.SKU] = len(out)
		out = append(out, message.BlankLine{SKU: x.SKU, Pieces: x.Pieces, UnitCost: x.UnitCost})
	}
	return out
}

// Commit stores the orders, and makes their sheets those of the proposals in
// place of what a round had planned for others with them. Earlier drafts that
// carry one of the proposals are dropped. It refuses when a proposal has changed in
// the meantime.
func (o *Ordering) Commit(tx *store.Tx) error {
	o.Replaced = nil
	if o.layout == nil {
		return nil
	}
	for i := range o.layout.jobs {
		p := o.layout.jobs[i].Proposal
		now, err := tx.Proposal(p.Number)
		if err != nil {
			return err
		}
		if !reflect.DeepEqual(&now, p) {
			return fmt.Errorf("proposal %d has changed while its orders were written; write them again", p.Number)
		}
		if err := tx.UnlinkSheets(p.Number); err != nil {
			return err
		}
		older, err := OrdersOf(tx, p.Number, store.OrderWritten)
		if err != nil {
			return err
		}
		for k := range older {
			older[k].State = store.OrderDropped
			o.Replaced = append(o.Replaced, older[k].Number)
			if err := tx.PutSupplierOrder(older[k].SupplierOrder); err != nil {
				return err
			}
		}
	}
	for i := range o.Orders {
		if err := o.Orders[i].commit(tx); err != nil {
			return err
		}
	}
	return nil
}

func (d *Draft) commit(tx *store.Tx) error {
	for _, so := range d.sheets {
		var err error
		if so.RoundID, err = tx.RoundOf(so.Numbers[0]); err != nil {
			return err
		}
		id, err := tx.AddSheetOrder(so)
		if err != nil {
			return err
		}
		d.Sheets = append(d.Sheets, id)
	}
	if err := d.Write(&d.SupplierOrder); err != nil {
		return err
	}
	return tx.AddSupplierOrder(d.SupplierOrder)
}

// SheetOrders returns the sheets of the draft.
func (d *Draft) SheetOrders() []store.SheetOrder { return d.sheets }
