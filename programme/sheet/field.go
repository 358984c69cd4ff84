package sheet

import (
	"fmt"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/sheet/pack"
)

// field is the usable part of a sheet with the images to put on it. Widening
// every image and the field by one gutter turns gutters into plain packing.
type field struct {
	kind   *programme.TransferKind
	size   programme.SheetSize
	tariff tariff
	wants  []want
	width  int64
	height int64 // of a sheet, or the greatest length of one piece of roll
	// whole is the least number of sheets of the whole need, when these are a part of its artworks.
	whole float64
	// effort is the number of tries at the question whether images fit one sheet.
	effort int
	stop   func() bool
	trial  bool // see Budget
	fitted map[string][]pack.Place
	// arts are the artworks that may lie on the sheets, spares included.
	arts map[string]*programme.Artwork
}

// endless is the greatest length of roll when the shop file gives none: 100 m.
const endless = 100_000 * programme.Millimetre

func newField(u programme.Units, kind *programme.TransferKind, size programme.SheetSize, wants []want) (*field, error) {
	if size.Roll && size.Height <= 0 {
		size.Height = endless
	}
	inner := func(l programme.Length) int64 { return int64(l - 2*kind.Margin + kind.Gutter) }
	f := &field{kind: kind, size: size, tariff: tariffOf(kind, &size), wants: wants, width: inner(size.Width),
		height: inner(size.Height)}
	for _, w := range wants {
		p := f.piece(w, 1)
		if (p.W > f.width || p.H > f.height) && (!p.Turn || p.H > f.width || p.W > f.height) {
			return nil, fmt.Errorf("artwork %s (%s by %s) does not fit %s inside its margins; use a wider sheet or another kind",
				w.line.Artwork, u.Length(w.art.Width), u.Length(w.art.Height), size.Code)
		}
		if w.art.Width <= 0 || w.art.Height <= 0 {
			return nil, fmt.Errorf("artwork %s has no size in the shop file", w.line.Artwork)
		}
	}
	return f, nil
}

// piece returns one artwork as the packer sees it.
func (f *field) piece(w want, count int) pack.Piece { return f.pieceOf(w.art, count) }

func (f *field) pieceOf(art *programme.Artwork, count int) pack.Piece {
	g := int64(f.kind.Gutter)
	return pack.Piece{W: int64(art.Width) + g, H: int64(art.Height) + g, Count: count, Turn: art.Turn}
}

// items turns places into images on the sheet.
func (f *field) items(places []pack.Place) []Item {
	items := make([]Item, 0, len(places))
	m, g := f.kind.Margin, f.kind.Gutter
	for _, p := range places {
		w := f.wants[p.Piece]
		items = append(items, Item{
			Artwork: w.line.Artwork, Client: w.line.Client, Turned: p.Turned,
			X: programme.Length(p.X) + m, Y: programme.Length(p.Y) + m,
			W: programme.Length(p.W) - g, H: programme.Length(p.H) - g,
		})
	}
	sortItems(items)
	return items
}
