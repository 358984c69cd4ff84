package supply

import (
	"context"
	"fmt"
	"strings"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/notify/document"
	"github.com/kitmuster/kitmuster/notify/message"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/sheet"
)

// Proofs draws the sheets of an order at true scale, with the list of what
// is on them. Clients go by the names that are given by code. The warnings say what
// the drawing could not show.
func Proofs(home string, shop *programme.Shop, asOf programme.Date, o *sheet.Order,
	lines []sheet.Line, clients map[string]string) (parts []message.Part, warnings []string, err error) {
	proof := document.Proof{
		Head: document.NewHead(shop, "", asOf), Ref: "Transfers of " + shop.DateStyle.Date(asOf) +
			versions(shop, lines),
		Dates: shop.DateStyle, Order: o, Kind: shop.KindName(o.Kind), Pictures: pictures(home, shop, lines),
		Artwork: shop.Artwork, Clients: clients,
	}
	pdf, warnings, err := proof.PDF()
	if err != nil {
		return nil, nil, err
	}
	list, err := document.OrderList(shop, &sheet.Plan{Orders: []sheet.Order{*o}, Lines: lines}, clients)
	if err != nil {
		return nil, nil, err
	}
	name := "sheets-" + o.Kind + "-" + asOf.String()
	return []message.Part{
		{Name: name + ".pdf", Type: "application/pdf", Data: pdf},
		{Name: name + ".csv", Type: "text/csv", Data: list},
	}, warnings, nil
}

// versions names the artworks that have versions with the one that is printed.
func versions(shop *programme.Shop, lines []sheet.Line) (words string) {
	for i := range lines {
		if a, ok := shop.Artwork(lines[i].Artwork); ok && len(a.Versions) > 0 {
			words += " · " + a.Title()
		}
	}
	return words
}

// prints writes the print files of an order, one a layout. Where a picture is
// missing or too coarse there are none, and the warnings say why.
func prints(home string, shop *programme.Shop, asOf programme.Date, o *sheet.Order,
	lines []sheet.Line) (parts []message.Part, warnings []string) {
	file := document.PrintFile{Shop: shop, AsOf: asOf, Order: o, Pictures: pictures(home, shop, lines)}
	files, warnings, err := file.Files()
	if err != nil {
		return nil, []string{fmt.Sprintf("No print file for “%s”: %s", shop.KindName(o.Kind),
			strings.ReplaceAll(err.Error(), "\n", "; "))}
	}
	for _, f := range files {
		parts = append(parts, message.Part{Name: f.Name, Type: f.Type, Data: f.Data})
	}
	return parts, warnings
}

// pictures reads the files of the artworks on some lines.
func pictures(home string, shop *programme.Shop, lines []sheet.Line) map[string][]byte {
	codes := make([]string, len(lines))
	for i := range lines {
		codes[i] = lines[i].Artwork
	}
	return books.Pictures(home, shop, codes)
}

// clientNames returns what people call the clients of some lines, by code.
func clientNames(ctx context.Context, b *books.Books, lines []sheet.Line) map[string]string {
	names := map[string]string{}
	for i := range lines {
		code := lines[i].Client
		if _, known := names[code]; !known && code != "" {
			names[code] = b.ClientName(ctx, code)
		}
	}
	return names
}
