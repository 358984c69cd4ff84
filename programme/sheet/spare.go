package sheet

import (
	"slices"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/sheet/pack"
)

// addSpare puts one image more, as the packer sees it, on a layout; false when it does
// not fit.
func (f *field) addSpare(l *Layout, art *programme.Artwork, one pack.Piece) bool {
	g := f.kind.Gutter
	height := int64(l.Height - 2*f.kind.Margin + g)
	var images int64
	for _, it := range l.Items {
		images += int64(it.W+g) * int64(it.H+g)
	}
	if images+one.W*one.H > f.width*height {
		return false
	}
	return f.intoGap(l, art, one, height) || f.anew(l, art, height)
}

// inksWith returns how many ink colours a layout has with one artwork more.
func (f *field) inksWith(l *Layout, art *programme.Artwork) int {
	if f.kind.Process != programme.ScreenPrinted {
		return 0
	}
	arts := []*programme.Artwork{art}
	seen := map[string]bool{art.Code: true}
	for _, it := range l.Items {
		if !seen[it.Artwork] {
			seen[it.Artwork] = true
			arts = append(arts, f.arts[it.Artwork])
		}
	}
	return inksOf(arts)
}

// intoGap puts an image where nothing lies, moving nothing.
func (f *field) intoGap(l *Layout, art *programme.Artwork, one pack.Piece, height int64) bool {
	m, g := f.kind.Margin, f.kind.Gutter
	places := make([]pack.Place, len(l.Items))
	for i, it := range l.Items {
		places[i] = pack.Place{X: int64(it.X - m), Y: int64(it.Y - m), W: int64(it.W + g), H: int64(it.H + g)}
	}
	for _, r := range pack.Free(places, f.width, height) {
		for _, turned := range []bool{false, true} {
			w, h := one.W, one.H
			if turned {
				w, h = h, w
			}
			if (turned && !one.Turn) || w > r.W || h > r.H {
				continue
			}
			it := Item{
				Artwork: art.Code, Client: art.Client, Turned: turned, Spare: true,
				X: programme.Length(r.X) + m, Y: programme.Length(r.Y) + m, W: programme.Length(w) - g,
				H: programme.Length(h) - g,
			}
			if f.cuttable(l, it) {
				l.Items = append(l.Items, it)
				return true
			}
		}
	}
	return false
}

// cuttable reports that a trimmer, if that is how the layout is cut, takes it
// apart with the image, by cuts no longer than before or than the kind allows.
func (f *field) cuttable(l *Layout, it Item) bool {
	if f.kind.Cut != programme.Trimmer {
		return true
	}
	with := Layout{Width: l.Width, Height: l.Height, Items: append(slices.Clone(l.Items), it)}
	if _, ok := Cuts(&with); !ok {
		return false
	}
	return !f.size.Roll || f.kind.LongestCut == 0 || stretch(with.Items) <= max(f.kind.LongestCut, stretch(l.Items))
}

// stretch returns the longest part of a roll that no line across parts.
func stretch(items []Item) (long programme.Length) {
	sorted := slices.Clone(items)
	sortItems(sorted)
	var from, to programme.Length
	for i, it := range sorted {
		if i == 0 || it.Y >= to {
			from = it.Y
		}
		to = max(to, it.Y+it.H)
		long = max(long, to-from)
	}
	return long
}

// anew packs a fixed sheet again with one image more.
func (f *field) anew(l *Layout, art *programme.Artwork, height int64) bool {
	if f.size.Roll || len(l.Items) >= roomMost {
		return false
	}
	arts := []*programme.Artwork{art}
	pieces := []pack.Piece{f.pieceOf(art, 1)}
	spares := map[string]int{art.Code: 1}
	for _, it := range l.Items {
		at := slices.IndexFunc(arts, func(a *programme.Artwork) bool { return a.Code == it.Artwork })
		if at < 0 {
			at = len(arts)
			arts = append(arts, f.arts[it.Artwork])
			pieces = append(pieces, f.pieceOf(arts[at], 0))
		}
		pieces[at].Count++
		if it.Spare {
			spares[it.Artwork]++
		}
	}
	places, ok := pack.Fit(pieces, f.width, height,
		pack.Options{Iterations: roomEffort, Guillotine: f.kind.Cut == programme.Trimmer})
	if !ok {
		return false
	}
	m, g := f.kind.Margin, f.kind.Gutter
	l.Items = l.Items[:0]
	for _, p := range places {
		a := arts[p.Piece]
		spares[a.Code]--
		l.Items = append(l.Items, Item{
			Artwork: a.Code, Client: a.Client, Turned: p.Turned, Spare: spares[a.Code] >= 0,
			X: programme.Length(p.X) + m, Y: programme.Length(p.Y) + m, W: programme.Length(p.W) - g,
			H: programme.Length(p.H) - g,
		})
	}
	return true
}

// inksOf counts the ink colours of artworks on one layout: those of one ink set
// share theirs, an artwork without a set brings its own (see field.inks).
func inksOf(arts []*programme.Artwork) (n int) {
	sets := map[string]int{}
	for _, a := range arts {
		if a.InkSet == "" {
			n += a.Inks
			continue
		}
		n += max(0, a.Inks-sets[a.InkSet])
		sets[a.InkSet] = max(sets[a.InkSet], a.Inks)
	}
	return n
}
