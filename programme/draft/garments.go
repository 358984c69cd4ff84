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
	line := programme.KitLine{Garment: fit[0].Code, Colour: d.colour(fit[0]), Each: it.each, WearsAWeek: it.wears, Decorations: d.decorations(fit[0], marks)}
	codes := make([]string, len(fit))
	for i, g := range fit {
		codes[i] = g.Code
	}
	q := choose.Question{Shop: &d.shop, Client: &d.out.Client, Role: r.Code, Line: line, Wearers: max(r.People, 1), Garments: codes}
	options, err := choose.Options(q)
	if err != nil {
		return nil, nil, fmt.Errorf("%s for %s: %w", it.what, r.Code, err)
	}
	d.mildFirst(options)
	best := &options[0]
	g, _ := d.shop.Garment(best.Garment)
	line.Garment, line.Colour = g.Code, d.colour(g)
	line.Decorations = d.settle(d.marksOn(g, it), best.Kind)
	if f, ok := d.shop.Baselines.Fabric(g.FabricClass); ok && f.Fibre != programme.Cotton && len(line.Decorations) > 0 {
		d.polyester = true
	}
	return &line, &Pick{What: it.what, Garment: g.Name, Why: it.why + d.cheaper(fit[0], options), Options: options}, nil
}

// mildFirst moves what would be pressed hotter than its cloth should be behind all others:
// a little cheaper is not worth asking a transfer's maker for settings that may not exist.
func (d *maker) mildFirst(options []choose.Option) {
	hot := func(o *choose.Option) int {
		g, _ := d.shop.Garment(o.Garment)
		f, known := d.shop.Baselines.Fabric(g.FabricClass)
		if k, ok := d.shop.Kind(o.Kind); ok && known && k.Settings.TooHot(f.Fibre) {
			return 1
		}
		return 0
	}
	slices.SortStableFunc(options, func(a, b choose.Option) int { return hot(&a) - hot(&b) })
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
			return fmt.Sprintf("; %s would be the first thought, %s will do for %s less a head and year", first.Name, g.Name, less.In(d.shop.Currency))
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
			if g.FabricClass == class && g.Protective == it.protective && (len(it.families) == 0 || slices.Contains(it.families, g.SizeFamily)) {
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
