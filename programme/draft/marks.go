package draft

import (
	"fmt"
	"slices"
	"strings"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/choose"
)

// marksOn returns the marks for which the garment has a place, under its name there.
func (d *maker) marksOn(g *programme.Garment, it *item) []mark {
	if len(g.Placements) == 0 {
		return it.marks
	}
	var out []mark
	for _, m := range it.marks {
		for _, name := range append([]string{m.place}, m.also...) {
			if slices.ContainsFunc(g.Placements, func(p programme.Placement) bool { return p.Place == name }) {
				m.place = name
				out = append(out, m)
				break
			}
		}
	}
	return out
}

// decorations puts the marks on a garment as artworks of the first kind that
// holds them, for weighing; settle makes them final.
func (d *maker) decorations(g *programme.Garment, marks []mark) []programme.Decoration {
	var out []programme.Decoration
	for _, m := range marks {
		art := d.artwork(m, d.anyKind(g))
		art.Code = fmt.Sprintf("draft %s %d", m.suffix, len(d.shop.Artworks))
		d.shop.Artworks = append(d.shop.Artworks, art)
		out = append(out, programme.Decoration{Artwork: art.Code, Place: m.place})
	}
	return out
}

// anyKind returns a kind of transfer that the garment takes, or else the first.
func (d *maker) anyKind(g *programme.Garment) string {
	for i := range d.shop.Kinds {
		if k := &d.shop.Kinds[i]; !choose.Refuses(&d.shop, g, k) {
			return k.Code
		}
	}
	return d.shop.Kinds[0].Code
}

func (d *maker) artwork(m mark, kind string) programme.Artwork {
	a := programme.Artwork{
		Code: d.in.Code + "-" + m.suffix, Client: d.in.Code,
		Name: "Mark for the " + strings.ReplaceAll(m.place, "-", " "),
		Kind: kind, Width: m.wide, Height: m.high, Turn: true,
	}
	if k, ok := d.shop.Kind(kind); ok && k.Process == programme.ScreenPrinted {
		a.Inks = 1
	}
	a.Width, a.Height = onRuler(d.shop.Units, m.wide, 5*programme.Millimetre),
		onRuler(d.shop.Units, m.high, 5*programme.Millimetre)
	if m.suffix == "back" {
		a.Name = "Lettering for the back"
	}
	return a
}

func (d *maker) kindName(code string) string {
	if k, ok := d.shop.Kind(code); ok && k.Name != "" {
		return k.Name
	}
	return code
}

// onRuler returns a length as a metric shop measures it, in whole steps; in inches it stays.
func onRuler(units programme.Units, l, step programme.Length) programme.Length {
	if !units.Metric() {
		return l
	}
	return (l + step/2) / step * step
}

// settle returns the final decorations, adding each artwork once. The same mark
// on cloths that want different kinds of transfer becomes two artworks, of which the later one names its kind.
func (d *maker) settle(marks []mark, kind string) []programme.Decoration {
	var out []programme.Decoration
	for _, m := range marks {
		art := d.artwork(m, kind)
		for _, have := range d.out.Artworks {
			if have.Code == art.Code && have.Kind != kind {
				art.Code += "-" + kind
				art.Name += ", " + d.kindName(kind)
			}
		}
		if !slices.ContainsFunc(d.out.Artworks, func(a programme.Artwork) bool { return a.Code == art.Code }) {
			d.out.Artworks = append(d.out.Artworks, art)
		}
		out = append(out, programme.Decoration{Artwork: art.Code, Place: m.place})
	}
	return out
}

// extraMarks are printed where a sheet that is paid anyway has room; their sizes
// follow the usual ranges of the trade: inside-neck labels 2 to 3 in, sleeve marks
// 2.5 to 3.5 in wide (common practice, no source).
var extraMarks = []struct {
	mark
	name string
}{
	{mark{place: "inside-neck", suffix: "neck-label", wide: 10 * quarterInch, high: 8 * quarterInch},
		"Inside-neck label"},
	{mark{place: "left-sleeve", suffix: "sleeve-mark", wide: 10 * quarterInch, high: 6 * quarterInch},
		"Small mark for a sleeve"},
}

// extras adds standing extras of the kind that most of the client's artworks are of,
// and says what they are for. No garment carries them, so that they cost nothing
// until somebody takes one.
func (d *maker) extras() []string {
	most, kind := 0, ""
	count := map[string]int{}
	for i := range d.out.Artworks {
		k := d.out.Artworks[i].Kind
		if count[k]++; count[k] > most {
			most, kind = count[k], k
		}
	}
	if kind == "" {
		return nil
	}
	var codes []string
	for _, m := range extraMarks {
		a := d.artwork(m.mark, kind)
		a.Name = m.name
		d.out.Artworks = append(d.out.Artworks, a)
		codes = append(codes, fmt.Sprintf("%s (%s, %s × %s)", strings.ToLower(m.name), a.Code,
			d.shop.Units.Length(a.Width), d.shop.Units.Length(a.Height)))
	}
	return []string{"Offered at no cost where a sheet that is paid anyway has room: " + strings.Join(codes, ", ") +
		". No garment of the draft carries them; take them out of shop.yaml where nobody wants them. The maker's own label of fibre and care stays in the garment."}
}
