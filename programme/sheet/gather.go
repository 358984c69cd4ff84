package sheet

import (
	"cmp"
	"fmt"
	"slices"

	"github.com/kitmuster/kitmuster/programme"
)

// want is one needed artwork with everything the planner asks about it.
type want struct {
	line     Line
	art      *programme.Artwork
	kind     *programme.TransferKind
	perMonth float64
}

// gather adds up the needs by artwork, in order of client and code, adds the
// spoilage allowance and takes what is good on the shelf.
func gather(req Request) ([]want, []Pick, error) {
	byArt := map[string]*want{}
	var wants []*want
	for _, n := range req.Needs {
		w, known := byArt[n.Artwork]
		if !known {
			var err error
			if w, err = newWant(req.Shop, n.Artwork); err != nil {
				return nil, nil, err
			}
			byArt[n.Artwork] = w
			wants = append(wants, w)
		}
		if n.Pieces < 0 || n.Pieces > maxPieces {
			return nil, nil, fmt.Errorf("artwork %s: %d pieces are asked for; between 0 and %d can be planned",
				n.Artwork, n.Pieces, maxPieces)
		}
		w.line.Asked += n.Pieces
		w.perMonth += n.PerMonth
	}
	slices.SortFunc(wants, func(a, b *want) int {
		return cmp.Or(cmp.Compare(a.line.Client, b.line.Client), cmp.Compare(a.line.Artwork, b.line.Artwork))
	})
	var picks []Pick
	out := make([]want, 0, len(wants))
	for _, w := range wants {
		w.line.Spoilage = Allowance(w.line.Asked, w.art.Spoilage(w.kind))
		picks = append(picks, takeShelf(w, req.Shelf, req.AsOf)...)
		w.line.Print = w.line.Asked + w.line.Spoilage - w.line.FromShelf
		out = append(out, *w)
	}
	return out, picks, nil
}

// maxPieces is far above any shop's order; it keeps sums in range.
const maxPieces = 1_000_000

func newWant(shop *programme.Shop, code string) (*want, error) {
	art, ok := shop.Artwork(code)
	if !ok {
		return nil, fmt.Errorf("artwork %q is needed but is not in the shop file; add it under artworks", code)
	}
	kind, ok := shop.Kind(art.Kind)
	if !ok {
		return nil, fmt.Errorf("artwork %s is of transfer kind %q, which is not in the shop file", code, art.Kind)
	}
	return &want{line: Line{Artwork: code, Client: art.Client, Kind: kind.Code}, art: art, kind: kind}, nil
}

// takeShelf uses up transfers of the artwork, oldest first, those on hand
// before those on order; what is past its shelf life
// is not used, nor what carries a former version unless its owner uses that up.
func takeShelf(w *want, shelf []programme.StockLine, asOf programme.Date) []Pick {
	var batches []Pick
	for _, l := range shelf {
		if l.Kind != programme.Transfer || l.Code != w.line.Artwork || l.Pieces <= 0 {
			continue
		}
		made := l.Made
		if made.IsZero() {
			made = l.AsOf
		}
		if l.Expected.IsZero() && w.kind.ShelfDays > 0 && asOf.Sub(made) > w.kind.ShelfDays {
			w.line.Expired += l.Pieces
			continue
		}
		if l.Expected.IsZero() && made < w.art.GoodFrom() {
			w.line.Former += l.Pieces
			continue
		}
		batches = append(batches, Pick{w.line.Artwork, made, l.Pieces, l.Expected})
	}
	slices.SortStableFunc(batches, func(a, b Pick) int {
		return cmp.Or(cmp.Compare(a.Expected, b.Expected), cmp.Compare(a.Made, b.Made))
	})
	left := w.line.Asked + w.line.Spoilage
	var picks []Pick
	for _, b := range batches {
		if b.Pieces = min(b.Pieces, left); b.Pieces == 0 {
			break
		}
		left -= b.Pieces
		w.line.FromShelf += b.Pieces
		picks = append(picks, b)
	}
	return picks
}
