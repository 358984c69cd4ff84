package desk

import (
	"context"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"github.com/kitmuster/kitmuster/daemon/answer"
	"github.com/kitmuster/kitmuster/daemon/delivery"
	"github.com/kitmuster/kitmuster/daemon/hint"
	"github.com/kitmuster/kitmuster/daemon/record"
	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/daemon/supply"
	"github.com/kitmuster/kitmuster/notify/page"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/clean"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

// expected is blanks of an order that are still to come; later ones are on back-order until after today.
type expected struct {
	reorder.LineChange
	later int
}

// toCome returns the blanks of an order that are still to come, one entry for each garment, colour and size.
func (v *visit) toCome(o *supply.Order) (list []expected) {
	for i := range o.Blanks {
		b := &o.Blanks[i]
		n, later := b.Outstanding(), reorder.PiecesLater(b.BackOrders, v.today)
		if n == 0 {
			continue
		}
		at := slices.IndexFunc(list, func(c expected) bool { return c.SKU == b.SKU })
		if at < 0 {
			at = len(list)
			list = append(list, expected{LineChange: reorder.LineChange{SKU: b.SKU}})
		}
		list[at].Pieces += n
		list[at].later += later
	}
	return list
}

func (v *visit) goodsPage() error {
	p := titled("Goods in")
	list, err := supply.Orders(v.ctx(), v.Books.Store, store.OrderOrdered)
	if err != nil {
		return err
	}
	if len(list) == 0 {
		p.Say("No order to a supplier is on its way.")
	}
	for i := range list {
		p.Add(v.orderCard(&list[i]))
	}
	if err := v.addReceive(&p); err != nil {
		return err
	}
	if err := v.addEntries(&p, ""); err != nil {
		return err
	}
	return v.show(p)
}

// orderCard asks what came of an order.
func (v *visit) orderCard(o *supply.Order) page.Card {
	t := page.Table{Columns: page.Columns("Blanks", "#To come", "#Came", "#Comes later")}
	for i, c := range v.toCome(o) {
		most := strconv.Itoa(c.Pieces)
		t.Row(v.what(c.SKU), c.Pieces,
			page.Asking(&page.Field{Name: fmt.Sprintf("came-%d", i), Label: "Came of " + v.what(c.SKU), Bare: true,
				Ask: page.AskNumber, Value: strconv.Itoa(c.Pieces - c.later), Least: "0", Most: most}),
			page.Asking(&page.Field{Name: fmt.Sprintf("back-%d", i), Label: "Comes later of " + v.what(c.SKU),
				Bare: true, Ask: page.AskNumber, Value: "0", Least: "0", Most: most}))
	}
	fields := []*page.Field{v.dayField("On")}
	if len(t.Rows) > 0 {
		fields = append(fields, &page.Field{Name: "later", Label: "What comes later comes on", Ask: page.AskDay,
			Least: v.today.String()})
	}
	if len(o.Sheets) > 0 {
		fields = append(fields, &page.Field{Name: "sheets", Label: "The transfer sheets came", Ask: page.AskTick,
			Value: "yes", Ticked: true})
	}
	return page.Card{Level: 2, Title: page.Plain(fmt.Sprintf("Order %d to %s", o.Number,
		v.Books.Shop.SupplierName(o.Supplier))), Body: []page.Block{
		page.Paragraph{Words: page.Quiet(fmt.Sprintf("Of %s: %s, for %s.", v.date(o.AsOf), o.Words(),
			proposalList(o.Proposals)))},
		v.form(fmt.Sprintf("order-%d", o.Number), fmt.Sprintf("/goods/%d", o.Number), store.OrderMark(&o.SupplierOrder),
			[]page.Block{t, page.Fields{List: fields}}, page.Button{Words: "This came", Main: true}),
	}}
}

func proposalList(list []int64) string {
	if len(list) == 1 {
		return "proposal " + programme.Numbers(list)
	}
	return "proposals " + programme.Numbers(list)
}

// orderNumber is the number of the order of the address.
func (v *visit) orderNumber() (int64, error) {
	n, err := strconv.ParseInt(v.r.PathValue("order"), 10, 64)
	if err != nil {
		return 0, errMissing
	}
	return n, nil
}

func (v *visit) orderMark(tx *store.Tx) (string, error) {
	n, err := v.orderNumber()
	if err != nil {
		return "", err
	}
	o, err := tx.SupplierOrder(n)
	return store.OrderMark(&o), err
}

// arrived enters what came of an order.
func (v *visit) arrived() error {
	n, err := v.orderNumber()
	if err != nil {
		return err
	}
	return v.carry("/goods", v.goodsPage, v.orderMark, func(ctx context.Context) (told, error) {
		list, err := supply.Orders(ctx, v.Books.Store, store.OrderOrdered)
		if err != nil {
			return told{}, err
		}
		at := slices.IndexFunc(list, func(o supply.Order) bool { return o.Number == n })
		if at < 0 {
			return told{}, errStale
		}
		done, err := answer.Arrived(ctx, v.Books, v.cameOf(&list[at]), false)
		said := told{Text: fmt.Sprintf("goods of order %d are entered", n), Notes: hint.OfDesk(done.Notices)}
		for i := range done.Orders {
			if o := &done.Orders[i]; o.State == store.OrderArrived {
				said.Text = fmt.Sprintf("order %d has come whole", n)
			} else {
				said.Notes = append(said.Notes, programme.NumberOf(o.Outstanding(), "blank")+" still to come")
			}
		}
		return said, err
	})
}

// cameOf reads the form of an order's card.
func (v *visit) cameOf(o *supply.Order) answer.Goods {
	g := answer.Goods{Order: o.Number, Sheets: v.r.PostForm.Has("sheets"), Day: v.past("On"),
		BackOn: v.day("later", "What comes later comes on", 0)}
	for i, c := range v.toCome(o) {
		if n := v.number(fmt.Sprintf("came-%d", i), v.what(c.SKU)+", came", 0, 100000, 0); n > 0 {
			g.Came = append(g.Came, reorder.LineChange{SKU: c.SKU, Pieces: n})
		}
		if n := v.number(fmt.Sprintf("back-%d", i), v.what(c.SKU)+", comes later", 0, 100000, 0); n > 0 {
			g.Back = append(g.Back, reorder.LineChange{SKU: c.SKU, Pieces: n})
		}
	}
	switch {
	case len(g.Back) > 0 && g.BackOn.IsZero():
		v.wrong("say on which day what comes later comes")
	case len(g.Came)+len(g.Back) == 0 && !g.Sheets:
		v.wrong("write what came")
	}
	return g
}

// kindsOfGoods are the goods that come by other ways.
var kindsOfGoods = []page.Choice{{Value: string(programme.Blank), Words: "Blanks"},
	{Value: string(programme.Finished), Words: "Finished pieces"},
	{Value: string(programme.Transfer), Words: "Transfers"}}

// addReceive asks for goods that are on no order.
func (v *visit) addReceive(p *page.Page) error {
	what := []page.Choice{{Words: "Choose"}}
	for i := range v.Books.Shop.Garments {
		g := &v.Books.Shop.Garments[i]
		for _, colour := range g.Colours {
			what = append(what, page.Choice{Value: g.Code + "/" + colour,
				Words: v.what(programme.SKU{Garment: g.Code, Colour: colour})})
		}
	}
	for _, a := range v.Books.Shop.Transfers() {
		what = append(what, page.Choice{Value: "art:" + a.Code, Words: "Transfer " + a.Code})
	}
	clients, _, err := v.Books.Readable(v.ctx())
	if err != nil {
		return err
	}
	whose := []page.Choice{{Words: "Nobody's"}}
	for _, c := range clients {
		whose = append(whose, page.Choice{Value: c.Code, Words: c.Name})
	}
	p.Heading(2, "Other goods that came")
	p.Say("What no order of the program had: blanks, transfers, or finished pieces of a client.")
	p.Add(v.form("other", "/goods", "", []page.Block{page.Fields{List: []*page.Field{
		{Name: "kind", Label: "They are", Ask: page.AskChoice, Choices: kindsOfGoods},
		{Name: "what", Label: "What", Ask: page.AskChoice, Choices: what, Needed: true},
		{Name: "size", Label: "Size", Ask: page.AskText, Hint: "of garments"},
		{Name: "pieces", Label: "Pieces", Ask: page.AskNumber, Least: "1", Most: "1000000", Needed: true},
		{Name: "client", Label: "Whose", Ask: page.AskChoice, Choices: whose, Hint: "of finished pieces"},
		v.dayField("On"),
	}}}, page.Button{Words: "Enter them", Main: true}))
	return nil
}

// received enters goods that were on no order.
func (v *visit) received() error {
	return v.carry("/goods", v.goodsPage, nil, func(ctx context.Context) (told, error) {
		a := v.arrival()
		said, err := entered(record.Receive(ctx, v.Books, a))
		said.Client = a.Client
		return said, err
	})
}

// arrival reads the form of goods that were on no order.
func (v *visit) arrival() (a record.Arrival) {
	f := v.r.PostForm
	a.Kind = programme.StockKind(f.Get("kind"))
	if !slices.ContainsFunc(kindsOfGoods, func(c page.Choice) bool { return c.Value == string(a.Kind) }) {
		v.wrong("choose what kind of goods came")
	}
	if a.Kind == programme.Finished {
		if a.Client = f.Get("client"); a.Client == "" {
			v.wrong("say whose the finished pieces are: they carry a client's mark")
		}
	}
	what, isArtwork := strings.CutPrefix(f.Get("what"), "art:")
	switch {
	case what == "" || isArtwork != (a.Kind == programme.Transfer):
		v.wrong("choose what came: a garment of blanks and finished pieces, an artwork of transfers")
	case isArtwork:
		a.Code = what
	default:
		a.Code, a.Colour, _ = programme.SplitSKU(what)
		a.Size = strings.TrimSpace(f.Get("size"))
	}
	if a.Pieces = v.number("pieces", "Pieces", 1, 1000000, 0); a.Pieces == 0 {
		v.wrong("write how many pieces came")
	}
	a.On = v.past("On")
	return a
}

// ordersPage shows accepted proposals to be ordered, written orders, and orders on their way.
func (v *visit) ordersPage() error {
	p := page.Page{Title: "Orders"}
	p.Heading(1, "Orders to suppliers")
	for _, add := range []func(*page.Page) error{v.addAccepted, v.addWritten, v.addOnTheirWay} {
		if err := add(&p); err != nil {
			return err
		}
	}
	if err := v.addEntries(&p, ""); err != nil {
		return err
	}
	return v.show(p)
}

// addAccepted lists the accepted proposals and offers to write their orders.
func (v *visit) addAccepted(p *page.Page) error {
	accepted, err := v.Books.Store.ProposalHeads(v.ctx(), "", reorder.Accepted)
	if err != nil {
		return err
	}
	p.Heading(2, "Accepted, to be ordered")
	if len(accepted) == 0 {
		p.Say("No accepted proposal waits to be ordered.")
		return nil
	}
	t := page.Table{Columns: page.Columns("Proposal", "Client", "#Pieces", "In hands by")}
	for i := range accepted {
		x := &accepted[i]
		t.Row(page.Leading(fmt.Sprintf("Proposal %d", x.Number), proposalAddress(x.Number)),
			v.Books.ClientName(v.ctx(), x.Client), x.Pieces(), v.date(x.Arrives))
	}
	p.Add(t)
	p.Say("This writes one mail draft to each supplier, with lists and print files, and lays the sheets out for these proposals; that can take half a minute. Nothing is sent by itself: open each draft in your mail program, look at it, send it.")
	p.Add(v.form("write", "/orders", "", nil, page.Button{Words: "Write the orders", Main: true}))
	return nil
}

// addWritten shows the orders that are written and asks whether they are sent.
func (v *visit) addWritten(p *page.Page) error {
	list, err := supply.Orders(v.ctx(), v.Books.Store, store.OrderWritten)
	if err != nil {
		return err
	}
	if len(list) > 0 {
		p.Heading(2, "Written, not yet sent")
	}
	for i := range list {
		o := &list[i]
		p.Add(page.Card{Level: 3, Title: page.Plain(fmt.Sprintf("Order %d to %s", o.Number,
			v.Books.Shop.SupplierName(o.Supplier))), Body: []page.Block{
			page.Paragraph{Words: page.Plain(fmt.Sprintf("%s, for %s. The draft lies in the folder drafts.",
				clean.Sentence(o.Words()), proposalList(o.Proposals)))},
			v.form(fmt.Sprintf("sent-%d", o.Number), fmt.Sprintf("/orders/%d/sent", o.Number),
				store.OrderMark(&o.SupplierOrder),
				[]page.Block{page.Fields{List: []*page.Field{v.dayField("Sent on")}}},
				page.Button{Words: "It is sent", Main: true, About: fmt.Sprintf("order %d", o.Number)}),
		}})
	}
	return nil
}

// addOnTheirWay lists the orders whose goods have not come yet.
func (v *visit) addOnTheirWay(p *page.Page) error {
	list, err := supply.Orders(v.ctx(), v.Books.Store, store.OrderOrdered)
	if err != nil || len(list) == 0 {
		return err
	}
	p.Heading(2, "On their way")
	t := page.Table{Columns: page.Columns("Order", "Supplier", "What")}
	for i := range list {
		t.Row(page.Leading(fmt.Sprintf("Order %d", list[i].Number), "/goods"),
			v.Books.Shop.SupplierName(list[i].Supplier), list[i].Words())
	}
	p.Add(t)
	return nil
}

// writeOrders writes the drafts of orders for all accepted proposals.
func (v *visit) writeOrders() error {
	return v.carry("/orders", v.ordersPage, nil, func(ctx context.Context) (told, error) {
		o, err := supply.Drafts(ctx, v.Books, v.today, supply.Wish{})
		if err != nil {
			return told{}, err
		}
		if len(o.Orders) == 0 {
			return told{}, wrongf("nothing is to be bought: all that the accepted proposals need is set aside; say on the page of each that it is ordered")
		}
		if _, err := o.Keep(ctx, v.Books, v.Now().In(v.Books.Zone())); err != nil {
			return told{}, err
		}
		said := told{Text: programme.NumberOf(len(o.Orders), "order") + " written, as drafts in the folder drafts"}
		for i := range o.Orders {
			words := fmt.Sprintf("order %d to %s: %s", o.Orders[i].Number,
				v.Books.Shop.SupplierName(o.Orders[i].Supplier), o.Orders[i].Words())
			if when := o.Orders[i].When(v.today, v.date); when != "" {
				words += "; " + when
			}
			said.Notes = append(said.Notes, words)
			said.Notes = append(said.Notes, o.Orders[i].Mail.Warnings...)
		}
		if err := delivery.WriteFiles(ctx, v.Books, v.Now); err != nil {
			said.Notes = append(said.Notes, hint.Desk(err))
		}
		if len(o.Replaced) > 0 {
			said.Notes = append(said.Notes,
				fmt.Sprintf("these take the place of drafts written before: do not send order %s",
					programme.Numbers(o.Replaced)))
		}
		return said, nil
	})
}

// sent enters that an order went to its supplier.
func (v *visit) sent() error {
	n, err := v.orderNumber()
	if err != nil {
		return err
	}
	return v.carry("/orders", v.ordersPage, v.orderMark, func(ctx context.Context) (told, error) {
		done, err := answer.Sent(ctx, v.Books, v.past("Sent on"), []int64{n}, false)
		said := told{Text: fmt.Sprintf("order %d is sent", n), Notes: hint.OfDesk(done.Notices)}
		for _, m := range done.Moved {
			said.Notes = append(said.Notes, fmt.Sprintf("proposal %d is ordered: its pieces count as on their way", m))
		}
		return said, err
	})
}
