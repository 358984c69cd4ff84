package handover

import (
	"bytes"
	"fmt"
	"maps"
	"path/filepath"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/notify/wholefile"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/catalogue"
	"github.com/kitmuster/kitmuster/programme/ledger"
)

// Prices is the result of taking in a price list.
type Prices struct {
	Notes   []string
	Changes []PriceChange
	Same    int // items of which the list says what was known
	// Others counts rows that are not of the shop's garments, Unlisted those in no colour and
	// size of theirs, Open those that leave size or colour empty.
	Others         int
	Unlisted, Open catalogue.Passed
	Stored         bool
}

// PriceChange is one item after it changed; New says that none was known.
type PriceChange struct {
	After   programme.Item
	New     bool
	WasCost programme.Money // what the shop reckoned with before
}

// Catalogue takes a supplier's price list into the shop's catalogue.csv. Items
// that it does not name stay as they are, and so do cells that it leaves empty;
// shop.yaml is not touched.
func Catalogue(home string, shop *programme.Shop, file string, data []byte, opt Options) (*Prices, error) {
	list, err := catalogue.Read(file, data, catalogue.Options{Options: opt.table(nil, opt.AsOf),
		Garments: ledger.NewCatalogue(shop.Garments)})
	if err != nil {
		return nil, err
	}
	r := &Prices{Notes: list.Notes, Others: list.Others, Unlisted: list.Unlisted, Open: list.Open}
	switch {
	case len(list.Rows) > 0:
	case r.Open.Rows > 0 && r.Unlisted.Rows == 0:
		return nil, fmt.Errorf("%s: no row of your garments names both colour and size, as each cost and item number must (%s); write a row for each size, or say which column holds the size with --map",
			file, r.Open.Examples[0])
	default:
		return nil, fmt.Errorf("%s: none of its %d rows is a garment, colour and size of shop.yaml; say the supplier's style number of each garment there (style:), or which column holds it with --map",
			file, r.Others+r.Unlisted.Rows+r.Open.Rows)
	}
	items := map[programme.SKU]programme.Item{}
	maps.Copy(items, shop.Items)
	for _, it := range list.Rows {
		before, known := items[it.SKU]
		after := over(before, it)
		if known && after == before {
			r.Same++
			continue
		}
		was, _ := shop.BlankCost(it.SKU)
		items[it.SKU] = after
		r.Changes = append(r.Changes, PriceChange{After: after, New: !known, WasCost: was})
	}
	if opt.DryRun || len(r.Changes) == 0 {
		return r, nil
	}
	var b bytes.Buffer
	if err := catalogue.Write(&b, catalogue.Sorted(items)); err != nil {
		return nil, err
	}
	if err := wholefile.Write(filepath.Join(home, books.CatalogueFile), b.Bytes()); err != nil {
		return nil, err
	}
	r.Stored = true
	return r, nil
}

// over returns an item with what a later list says of it.
func over(it, says programme.Item) programme.Item {
	it.SKU = says.SKU
	if says.Number != "" {
		it.Number = says.Number
	}
	if says.GTIN != "" {
		it.GTIN = says.GTIN
	}
	if says.Cost > 0 {
		it.Cost = says.Cost
	}
	if says.Pack > 0 {
		it.Pack = says.Pack
	}
	if says.Supply != programme.SupplyUnknown {
		it.Supply = says.Supply
	}
	return it
}
