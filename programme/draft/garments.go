package draft

import (
	"fmt"
	"slices"
	"strings"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/choose"
)

// choose takes, of the catalogue's garments that will do, the one that costs
// least to wear, with the kind of transfer that makes it so.
func (d *maker) choose(r Role, it *item) (*programme.KitLine, *Pick, error) {
	fit := d.fitting(it)
	if len(fit) == 0 {
		d.missing(it)
		return nil, nil, nil
	}
	marks := d.marksOn(fit[0], it)
	line := programme.KitLine{Garment: fit[0].Code, Colour: d.colour(fit[0]), Each: it.each, WearsAWeek: it.wears,
		Decorations: d.decorations(fit[0], marks)}
	codes := make([]string, len(fit))
	for i, g := range fit {
		codes[i] = g.Code
	}
	q := choose.Question{Shop: &d.shop, Client: &d.out.Client, Role: r.Code, Line: line, Wearers: max(r.People, 1),
		Garments: codes}
	options, err := choose.Options(q)
	if err != nil {
		return nil, nil, fmt.Errorf("%s for %s: %w", it.what, r.Code, err)
	}
	d.mildFirst(options)
	best := &options[0]
	g, _ := d.shop.Garment(best.Garment)
	line.Garment, line.Colour = g.Code, d.colour(g)
	marks = d.marksOn(g, it)
	line.Decorations = d.settle(marks, d.kindOf(best, options, marks))
	if f, ok := d.shop.Baselines.Fabric(g.FabricClass); ok && f.Fibre != programme.Cotton && len(line.Decorations) > 0 {
		d.polyester = true
	}
	return &line, &Pick{What: it.what, Garment: g.Name, Why: it.why + d.cheaper(fit[0], options), Options: options}, nil
}

// mildFirst moves what would be pressed hotter than its cloth should be behind all others:
// a little cheaper is not worth asking a transfer's maker for settings that may not exist.
func (d *maker) mildFirst(options []choose.Option) {
	slices.SortStableFunc(options, func(a, b choose.Option) int { return d.hot(&a) - d.hot(&b) })
}

// hot returns 1 where the option's transfer is pressed hotter than its cloth should be, else 0.
func (d *maker) hot(o *choose.Option) int {
	g, _ := d.shop.Garment(o.Garment)
	f, known := d.shop.Baselines.Fabric(g.FabricClass)
	if k, ok := d.shop.Kind(o.Kind); ok && known && k.Settings.TooHot(f.Fibre) {
		return 1
	}
	return 0
}

// kindOf returns the kind of transfer for the marks on the best garment: the kind in which the client has them
// already where this cloth takes it as well, since one mark as two transfers is set up, bought and kept twice.
func (d *maker) kindOf(best *choose.Option, options []choose.Option, marks []mark) string {
	for i := range options {
		o := &options[i]
		if o.Garment == best.Garment && d.hot(o) <= d.hot(best) && len(marks) > 0 &&
			!slices.ContainsFunc(marks, func(m mark) bool { return !d.has(m, o.Kind) }) {
			return o.Kind
		}
	}
	return best.Kind
}

// has reports whether the client has the mark as a transfer of that kind.
func (d *maker) has(m mark, kind string) bool {
	code := d.artwork(m, kind).Code
	return slices.ContainsFunc(d.out.Artworks, func(a programme.Artwork) bool {
		return a.Kind == kind && (a.Code == code || a.Code == code+"-"+kind)
	})
}

// cheaper says why a garment of another class than the first was taken.
func (d *maker) cheaper(first *programme.Garment, options []choose.Option) string {
	best := &options[0]
	g, _ := d.shop.Garment(best.Garment)
	if g.FabricClass == first.FabricClass {
		return ""
	}
	for i := range options {
		if options[i].Garment == first.Code {
			less := (options[i].ShopCostAMonth - best.ShopCostAMonth) * 12
			return fmt.Sprintf("; %s would be the first thought, %s will do for %s less a head and year", first.Name,
				g.Name, less.In(d.shop.Currency))
		}
	}
	return ""
}

// fitting returns the catalogue's garments of the wanted classes, those of the
// first class in front.
func (d *maker) fitting(it *item) []*programme.Garment {
	var out []*programme.Garment
	for _, class := range it.classes {
		for i := range d.shop.Garments {
			g := &d.shop.Garments[i]
			if g.FabricClass == class && g.Protective == it.protective &&
				(len(it.families) == 0 || slices.Contains(it.families, g.SizeFamily)) {
				out = append(out, g)
			}
		}
	}
	return out
}

func (d *maker) missing(it *item) {
	says := fmt.Sprintf("no %s (%s) in shop.yaml: %s", it.what, strings.Join(it.classes, ", "), it.why)
	if !slices.Contains(d.out.Missing, says) {
		d.out.Missing = append(d.out.Missing, says)
	}
}

// colour returns the wanted one where the garment comes in it, else its first.
func (d *maker) colour(g *programme.Garment) string {
	for _, c := range g.Colours {
		if strings.EqualFold(c, d.in.Colour) {
			return c
		}
	}
	if len(g.Colours) == 0 {
		return d.in.Colour
	}
	return g.Colours[0]
}
