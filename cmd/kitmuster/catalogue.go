package main

import (
	"fmt"
	"path/filepath"

	"github.com/spf13/cobra"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/handover"
	"github.com/kitmuster/kitmuster/notify/page"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/catalogue"
)

func newCatalogueCommand(a *app) *cobra.Command {
	c := group("catalogue", "Take and give out what suppliers charge, and their item numbers",
		"  kitmuster catalogue import prices.xlsx --dry-run")
	c.AddCommand(newCatalogueImport(a), newCatalogueExport(a))
	return c
}

func newCatalogueImport(a *app) *cobra.Command {
	var f handoverFlags
	c := &cobra.Command{
		Use:   "import FILE",
		Short: "Take a supplier's price list",
		Long: `Takes a price list with any headings: garment (code or name as in shop.yaml, or the
supplier's style number that it names with style:), colour, size, item_number, gtin,
cost of one blank, pack, and availability (available, out of stock, discontinued, or
how many there are). Rows of garments, colours and sizes that shop.yaml does not have
are passed over and counted, and so are rows that leave the size or colour empty.

What the list says goes into catalogue.csv in the shop's folder and is used before
what shop.yaml says of cost and pack; shop.yaml stays as it is. Items that the list
does not name stay, and so do cells that it leaves empty.`,
		Example:           "  kitmuster catalogue import prices.csv --map \"Style No=garment\" --dry-run",
		ValidArgsFunction: completeList,
		RunE: func(_ *cobra.Command, args []string) error {
			opt, err := f.options(a)
			if err != nil {
				return err
			}
			data, err := a.readFile(args[0])
			if err != nil {
				return err
			}
			shop, err := books.ReadShop(a.home)
			if err != nil {
				return err
			}
			r, err := handover.Catalogue(a.home, shop, filepath.Base(args[0]), data, opt)
			if err != nil {
				return err
			}
			if f.asJSON {
				return writeJSON(a.out, pricesJSON(r))
			}
			a.printPrices(shop, r)
			return nil
		},
	}
	c.Flags().StringArrayVar(&f.maps, "map", nil, `heading of the file and our name for it, "Style No=garment", or a word in a column and ours, "colour:Jet Black=black"; nothing behind = passes the column over, or leaves out rows of that garment`)
	c.Flags().StringVar(&f.sheet, "sheet", "", "sheet of a workbook (default: the one with the headings)")
	c.Flags().BoolVar(&f.dryRun, "dry-run", false, "show what would change and change nothing")
	c.Flags().BoolVar(&f.asJSON, "json", false, "print the outcome for other programs")
	return c
}

func newCatalogueExport(a *app) *cobra.Command {
	return &cobra.Command{
		Use:     "export",
		Short:   "Write what the price lists said as CSV",
		Long:    "Writes what was taken from price lists to the screen; send it to a file with >,\ncorrect it in a spreadsheet and take it back with 'kitmuster catalogue import'.\nIt changes nothing.",
		Example: "  kitmuster catalogue export > catalogue.csv",
		RunE: func(*cobra.Command, []string) error {
			shop, err := books.ReadShop(a.home)
			if err != nil {
				return err
			}
			return catalogue.Write(unfolded(a.out), catalogue.Sorted(shop.Items))
		},
	}
}

// pricesShown is the number of changes that are listed one by one.
const pricesShown = 40

func (a *app) printPrices(shop *programme.Shop, r *handover.Prices) {
	t := page.Table{Columns: []page.Column{{Head: "Item"}, {Head: "Number"}, {Head: "Cost was", Right: true},
		{Head: "Cost is", Right: true}, {Head: "Availability"}}}
	for i := range r.Changes[:min(len(r.Changes), pricesShown)] {
		c := &r.Changes[i]
		was, is := "", c.After.Cost.In(shop.Currency)
		switch {
		case c.After.Cost == 0:
			is = ""
		case c.WasCost != c.After.Cost:
			was = c.WasCost.In(shop.Currency)
		}
		t.Row(c.After.String(), c.After.Number, was, is, string(c.After.Supply))
	}
	if len(t.Rows) > 0 {
		show(a.out, t)
	}
	if more := len(r.Changes) - pricesShown; more > 0 {
		fmt.Fprintf(a.out, "and %d more\n", more)
	}
	fmt.Fprintf(a.out, "Items that change: %d. Items that stay as they are: %d.\n", len(r.Changes), r.Same)
	if r.Others > 0 {
		fmt.Fprintf(a.out, "Rows of garments that shop.yaml does not have: %d.\n", r.Others)
	}
	a.printPassed("Rows of your garments in a colour or size that shop.yaml does not have", r.Unlisted)
	a.printPassed("Rows of your garments without a size or colour, which say nothing of any one (write a row for each)",
		r.Open)
	for _, n := range r.Notes {
		fmt.Fprintf(a.out, "%s\n", n)
	}
	switch {
	case r.Stored:
		fmt.Fprintf(a.out, "Kept in %s.\n", filepath.Join(a.home, books.CatalogueFile))
	case len(r.Changes) > 0:
		fmt.Fprintln(a.out, "This was a trial: nothing was kept.")
	}
}

func (a *app) printPassed(what string, p catalogue.Passed) {
	if p.Rows == 0 {
		return
	}
	suchAs := ", such as"
	if p.Rows == len(p.Examples) {
		suchAs = ""
	}
	fmt.Fprintf(a.out, "%s: %d%s\n", what, p.Rows, suchAs)
	for _, x := range p.Examples {
		fmt.Fprintf(a.out, "  %s\n", x)
	}
}

type priceJSON struct {
	Garment string          `json:"garment"`
	Colour  string          `json:"colour"`
	Size    string          `json:"size"`
	Number  string          `json:"item_number"`
	GTIN    string          `json:"gtin"`
	Was     programme.Money `json:"cost_was"`
	Cost    programme.Money `json:"cost"`
	Pack    int             `json:"pack"`
	Supply  string          `json:"availability"`
	New     bool            `json:"new"`
}

func pricesJSON(r *handover.Prices) any {
	changes := []priceJSON{}
	for i := range r.Changes {
		c := &r.Changes[i]
		changes = append(changes, priceJSON{c.After.Garment, c.After.Colour, c.After.Size, c.After.Number, c.After.GTIN,
			c.WasCost, c.After.Cost, c.After.Pack, string(c.After.Supply), c.New})
	}
	return struct {
		Format   int         `json:"format"`
		Changes  []priceJSON `json:"changes"`
		Same     int         `json:"same"`
		Others   int         `json:"rows_of_other_garments"`
		Unlisted int         `json:"rows_of_other_colours_or_sizes"`
		Open     int         `json:"rows_without_colour_or_size"`
		Stored   bool        `json:"stored"`
	}{1, changes, r.Same, r.Others, r.Unlisted.Rows, r.Open.Rows, r.Stored}
}
