package answer

import (
	"fmt"
	"strconv"
	"strings"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/ledger"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

// ReadLine reads LINE=PIECES, such as polo/navy/M=4, for a proposal. Of the line
// as much is enough as tells it from the proposal's others.
func ReadLine(shop *programme.Shop, p *reorder.Proposal, word string) (reorder.LineChange, error) {
	name, number, ok := strings.Cut(word, "=")
	n, err := strconv.Atoi(strings.TrimSpace(number))
	if !ok || err != nil || n < 0 {
		return reorder.LineChange{}, fmt.Errorf("read %q; write it as GARMENT/COLOUR/SIZE=PIECES, such as polo/navy/M=4", word)
	}
	k, err := FindLine(shop, p, name)
	return reorder.LineChange{SKU: k, Pieces: n}, err
}

// FindLine finds a line of the proposal by all or some of its parts, or else
// that garment, colour and size in the catalogue.
func FindLine(shop *programme.Shop, p *reorder.Proposal, name string) (programme.SKU, error) {
	var found []programme.SKU
	for i := range p.Lines {
		k := p.Lines[i].SKU
		if strings.EqualFold(k.String(), strings.TrimSpace(name)) {
			return k, nil
		}
		if partsFit(shop, k, name) {
			found = append(found, k)
		}
	}
	switch len(found) {
	case 1:
		return found[0], nil
	case 0:
	default:
		return programme.SKU{}, fmt.Errorf("%q fits several lines: %s; say which", name,
			programme.Listing(found, programme.SKU.String))
	}
	k, wrong := ledger.NewCatalogue(shop.Garments).Find(programme.SplitSKU(name))
	if wrong != nil {
		return k, fmt.Errorf("%q is no line of proposal %d (%s), and read as a new one: %s", name, p.Number,
			lineList(p), wrong.Want)
	}
	return k, nil
}

// Only returns what takes every line of the proposal down to nothing that none of the
// names fits: "only the polos this time". A name is of a garment, or as FindLine takes it.
func Only(shop *programme.Shop, p *reorder.Proposal, names []string) ([]reorder.LineChange, error) {
	kept := make([]bool, len(p.Lines))
	for _, name := range names {
		fits := false
		for i := range p.Lines {
			if partsFit(shop, p.Lines[i].SKU, name) {
				kept[i], fits = true, true
			}
		}
		if !fits {
			return nil, fmt.Errorf("%q is no line of proposal %d: %s", name, p.Number, lineList(p))
		}
	}
	var out []reorder.LineChange
	for i := range p.Lines {
		if !kept[i] && p.Lines[i].Order > 0 {
			out = append(out, reorder.LineChange{SKU: p.Lines[i].SKU})
		}
	}
	return out, nil
}

// partsFit reports whether every part of the name is a part of the line.
func partsFit(shop *programme.Shop, k programme.SKU, name string) bool {
	garment := shop.GarmentName(k.Garment)
	rest := strings.TrimSpace(name)
	for _, have := range [][]string{{k.Garment, garment}, {k.Colour}, {k.Size}} {
		for _, h := range have {
			if h == "" || len(rest) < len(h) || !strings.EqualFold(rest[:len(h)], h) {
				continue
			}
			if after := rest[len(h):]; after == "" || after[0] == '/' {
				rest = strings.TrimPrefix(after, "/")
				break
			}
		}
	}
	return rest == ""
}

func lineList(p *reorder.Proposal) string {
	return "its lines are " + programme.Listing(p.Lines, func(l reorder.Line) string { return l.String() })
}
