package main

import (
	"context"
	"strconv"

	"github.com/spf13/cobra"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/notify/document"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/sales"
)

func newDeliveredCommand(a *app) *cobra.Command {
	var from, until string
	var asJSON bool
	c := &cobra.Command{
		Use:   "delivered [CLIENT]",
		Short: "Write what was delivered, line by line, for your accounts",
		Long: `Writes CSV to the screen, a row for each delivery, site, garment and size with its
price and tax, for your accounting program to read; send it to a file with >. The
amounts of a proposal add up to the pieces that came and its delivery charge. Pieces
that you keep for a client (pool_belongs_to: shop) appear when they are handed out.
kitmuster numbers no invoices. It changes nothing.`,
		Example: "  kitmuster delivered --from 2026-03-01 --until 2026-03-31 > march.csv\n  kitmuster delivered bakery --json",
		RunE: a.onBooks(func(ctx context.Context, b *books.Books, args []string) error {
			first, err := dayOr(from, 0)
			if err != nil {
				return err
			}
			last, err := a.day(until)
			if err != nil {
				return err
			}
			if last < first {
				return usagef("--until %s lies before --from %s", last, first)
			}
			return a.delivered(ctx, b, args, first, last, asJSON)
		}),
	}
	c.Flags().StringVar(&from, "from", "", "first day, year-month-day (default: from the beginning)")
	dayFlag(c, &until, "until", "last day")
	jsonFlag(c, &asJSON)
	return c
}

// soldRow is one row with what an accounting program asks for.
type soldRow struct {
	Date     programme.Date  `json:"date"`
	Client   string          `json:"client"`
	Customer string          `json:"customer"`
	Site     string          `json:"site"`
	Order    string          `json:"order_number"` // the customer's own
	Proposal int64           `json:"proposal"`
	Garment  string          `json:"garment"`
	Item     string          `json:"item"`
	Colour   string          `json:"colour"`
	Size     string          `json:"size"`
	Pieces   int             `json:"pieces"`
	Price    programme.Money `json:"unit_price"`
	Amount   programme.Money `json:"amount"`
	Tax      string          `json:"tax_code"`
	Percent  float64         `json:"tax_percent"`
	Included bool            `json:"tax_included"`
	Currency string          `json:"currency"`
}

func soldColumns() []document.Column[soldRow] {
	return []document.Column[soldRow]{
		{Heading: "date", Value: func(r soldRow) string { return r.Date.String() }},
		{Heading: "client", Value: func(r soldRow) string { return r.Client }},
		{Heading: "customer", Value: func(r soldRow) string { return r.Customer }},
		{Heading: "site", Value: func(r soldRow) string { return r.Site }},
		{Heading: "order_number", Value: func(r soldRow) string { return r.Order }},
		{Heading: "proposal", Value: func(r soldRow) string { return blankZero(int(r.Proposal)) }},
		{Heading: "garment", Value: func(r soldRow) string { return r.Garment }},
		{Heading: "item", Value: func(r soldRow) string { return r.Item }},
		{Heading: "colour", Value: func(r soldRow) string { return r.Colour }},
		{Heading: "size", Value: func(r soldRow) string { return r.Size }},
		{Heading: "pieces", Value: func(r soldRow) string { return strconv.Itoa(r.Pieces) }},
		{Heading: "unit_price", Value: func(r soldRow) string { return r.Price.Plain(r.Currency) }},
		{Heading: "amount", Value: func(r soldRow) string { return r.Amount.Plain(r.Currency) }},
		{Heading: "tax_code", Value: func(r soldRow) string { return r.Tax }},
		{Heading: "tax_percent", Value: func(r soldRow) string { return strconv.FormatFloat(r.Percent, 'f', -1, 64) }},
		{Heading: "tax_included", Value: func(r soldRow) string { return programme.YesNo(r.Included) }},
		{Heading: "currency", Value: func(r soldRow) string { return r.Currency }},
	}
}

func (a *app) delivered(ctx context.Context, b *books.Books, codes []string, from, until programme.Date,
	asJSON bool) error {
	codes, err := orAll(ctx, b, codes)
	if err != nil {
		return err
	}
	rows := []soldRow{}
	for _, code := range codes {
		c, err := salesOf(ctx, b, code)
		if err != nil {
			return err
		}
		for _, l := range sales.Delivered(b.Shop, c, from, until) {
			rows = append(rows, soldRowOf(b.Shop, c.Client, &l))
		}
	}
	if asJSON {
		return writeJSON(a.out, struct {
			Format int       `json:"format"`
			Rows   []soldRow `json:"rows"`
		}{1, rows})
	}
	csv, err := document.CSV(soldColumns(), rows)
	if err != nil {
		return err
	}
	_, err = unfolded(a.out).Write(csv)
	return err
}

func salesOf(ctx context.Context, b *books.Books, code string) (*sales.Client, error) {
	client, err := b.Client(ctx, code)
	if err != nil {
		return nil, err
	}
	out := &sales.Client{Client: client}
	if out.People, err = b.Store.People(ctx, code); err != nil {
		return nil, err
	}
	if out.Proposals, err = b.Store.Proposals(ctx, code); err != nil {
		return nil, err
	}
	out.Movements, err = b.Store.Movements(ctx, code)
	return out, err
}

func soldRowOf(shop *programme.Shop, c *programme.Client, l *sales.Line) soldRow {
	r := soldRow{
		Date: l.Date, Client: c.Code, Customer: c.Name, Site: l.Site, Order: c.OrderNumber, Proposal: l.Proposal,
		Garment: l.Garment, Item: l.Garment, Colour: l.Colour, Size: l.Size, Pieces: l.Pieces, Price: l.UnitPrice,
		Amount: l.Amount,
		Tax:    l.Tax.Code, Percent: l.Tax.Percent, Included: shop.Terms.TaxIncluded && l.Tax.Code != "",
		Currency: shop.Currency,
	}
	switch g, ok := shop.Garment(l.Garment); {
	case l.Garment == "":
		r.Item = "delivery"
	case ok && g.Name != "":
		r.Item = g.Name
	}
	return r
}
