package message

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"github.com/kitmuster/kitmuster/notify/document"
	"github.com/kitmuster/kitmuster/notify/page"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/clean"
	"github.com/kitmuster/kitmuster/programme/size"
)

// pressKey is one artwork at one place of one garment; names are one artwork together.
type pressKey struct{ garment, artwork, place string }

// pressed is some pieces alike of a set, of one person where they carry a name.
type pressed struct {
	tally
	code, name, wearer string
}

// sets groups the pieces of a job by what is pressed where. A person's pieces
// are decorated as the kit of the person's role says.
func (j *Job) sets(t notation, d distribution) ([]document.PressSet, []string) {
	pieces := map[pressKey][]pressed{}
	var keys []pressKey
	var notes []string
	add := func(p *programme.Person, wearer string, k programme.SKU, n int) {
		list, sure := j.Client.DecorationsOf(j.Shop, p, k)
		if !sure {
			notes = append(notes, fmt.Sprintf("Roles decorate %s differently; ask whom the pieces without a name are for before pressing them.",
				t.garment(k.Garment)))
		}
		if len(list) == 0 {
			whose := ""
			// a name is all that it carries
			if kit, _ := j.Client.Decorations(j.Shop, "", k); p == nil && len(kit) > 0 {
				whose = ", " + noName
			}
			notes = append(notes, fmt.Sprintf("%s, %s%s: nothing to press.", t.garment(k.Garment),
				clean.Short(k.Colour), whose))
		}
		for _, x := range list {
			key, one := pressKey{k.Garment, x.Artwork, x.Place}, pressed{tally: tally{k, n}, code: x.Artwork}
			if of, name, ok := j.Shop.NameOn(x.Artwork); ok {
				key.artwork, one.name, one.wearer = of.Code, name, wearer
			}
			if pieces[key] == nil {
				keys = append(keys, key)
			}
			pieces[key] = append(pieces[key], one)
		}
	}
	for _, row := range d.people {
		for _, n := range row.named {
			add(j.Proposal.Wearer(j.People, row.StaffID), row.Name, n.SKU, n.Pieces)
		}
	}
	for _, x := range d.pool {
		add(nil, "", x.SKU, x.n)
	}
	slices.SortStableFunc(keys, func(a, b pressKey) int {
		return cmp.Or(t.compare(programme.SKU{Garment: a.garment}, programme.SKU{Garment: b.garment}),
			strings.Compare(a.place+a.artwork, b.place+b.artwork))
	})
	var out []document.PressSet
	sets := map[string]int{}
	for _, k := range keys {
		sets[k.artwork]++
	}
	for _, k := range keys {
		out = append(out, j.set(t, k, pieces[k], sets[k.artwork] > 1))
	}
	return out, append([]string{hotPlaten}, unique(notes)...)
}

// set lists the pieces that get one artwork at one place of one garment; shared says that
// other sets of the job take the same transfers.
func (j *Job) set(t notation, k pressKey, list []pressed, shared bool) document.PressSet {
	pieces := make([]tally, len(list))
	for i := range list {
		pieces[i] = list[i].tally
	}
	s := document.PressSet{
		Title:     fmt.Sprintf("%s on %s, %s", t.artwork(k.artwork), t.garment(k.garment), place(k.place)),
		Placement: j.placement(t, k, pieces),
		Pieces:    pressTable(t.sizeTables(pieces)),
	}
	names := list[0].name != ""
	if names {
		s.Pieces = t.nameTable(list)
	}
	art, _ := j.Shop.Artwork(list[0].code)
	if art == nil {
		s.Cautions = []string{"The shop file has no such artwork: ask before pressing."}
		return s
	}
	kind, _ := j.Shop.Kind(art.Kind)
	if kind == nil {
		s.Cautions = []string{"The shop file does not say how this transfer is pressed: use the supplier's sheet."}
		return s
	}
	s.Placing = j.placing(t, k, art)
	s.Settings = settings(t, art, kind, j.spares(k.artwork), shared)
	if g, ok := j.Shop.Garment(k.garment); ok && kind.Settings.TooHot(j.fibre(g)) {
		s.Settings = cooler(t, &kind.Settings, s.Settings)
	}
	s.Cautions = j.cautions(t, k, kind, pieces)
	if names {
		s.Settings[0].Value = fmt.Sprintf("%s, one for each piece, capitals up to %s high", t.kindName(kind.Code),
			t.shop.Units.Length(t.capitals(k.artwork)))
		s.Cautions = append([]string{"Measure to the top of the capital letters. Read each name against the table and the bag tag before it is pressed: a name on the wrong piece is a lost piece."}, s.Cautions...)
	}
	return s
}

// capitals is the height of a capital of names that are not too long.
func (t notation) capitals(artwork string) programme.Length {
	if a, ok := t.shop.Artwork(artwork); ok {
		return a.Height
	}
	return 0
}

// nameTable says which name goes on which piece, in the order of the bags.
func (t notation) nameTable(list []pressed) page.Table {
	out := page.Table{Columns: []page.Column{{Head: "Name on the piece", Share: 0.3}, {Head: "For", Share: 0.3},
		{Head: "Piece"}, {Head: "Pieces", Share: 0.1, Right: true}}}
	sum := 0
	for i := range list {
		x := &list[i]
		out.Row(page.Strong(clean.Short(x.name)), x.wearer, clean.Short(x.Colour)+", "+t.sizeName(x.SKU), x.n)
		sum += x.n
	}
	out.Sum("Together", "", "", sum)
	return out
}

// place writes a print place as words: left-chest is left chest.
func place(s string) string { return clean.Short(strings.ReplaceAll(s, "-", " ")) }

// placement says in words and by one measure from one seam where the print
// lies. The tolerance is common practice, no source.
func (j *Job) placement(t notation, k pressKey, pieces []tally) string {
	at, ok := j.printPlace(k)
	if !ok {
		return "The shop file gives no measure for this place: press one piece by eye, and have it approved before the rest."
	}
	s := clean.Line(at.Words)
	switch drop, sizes := t.shop.Units.Length(at.Drop), sizeList(t, pieces); {
	case !measured(at):
	case at.From == "":
		s = fmt.Sprintf("%s; %s from that seam to the top of the print, the same in %s", s, drop, sizes)
	case at.Place == "cap-front":
		s = fmt.Sprintf("Lower edge of the print %s above %s; %s", drop, clean.Line(at.From), s)
	default:
		s = fmt.Sprintf("Top of the print %s below %s, the same in %s; %s", drop, clean.Line(at.From), sizes, s)
	}
	return clean.Sentence(strings.TrimSuffix(s, "; ")) +
		fmt.Sprintf(". Within %s and 1° of straight; keep off seams, zips, buttons and pocket edges.",
			t.shop.Units.Length(tolerance(t.shop.Units)))
}

// tolerance returns the greatest distance of a print from its place, rounded to what the ruler shows.
func tolerance(u programme.Units) programme.Length {
	if u.Metric() {
		return 6 * programme.Millimetre
	}
	return programme.Inch / 4
}

func (j *Job) printPlace(k pressKey) (programme.Placement, bool) {
	if g, ok := j.Shop.Garment(k.garment); ok {
		for _, p := range g.Placements {
			if p.Place == k.place {
				return p, true
			}
		}
	}
	return programme.Placement{}, false
}

// measured reports whether the drop is the measure of a place. Words that have
// a figure of their own are it instead: two measures of one print may differ.
func measured(p programme.Placement) bool {
	return p.Drop > 0 && (p.From != "" || !strings.ContainsAny(p.Words, "0123456789"))
}

// placing draws the garment with the print on it.
func (j *Job) placing(t notation, k pressKey, art *programme.Artwork) document.Placing {
	out := document.Placing{Place: k.place, Width: art.Width, Height: art.Height, Art: art.Code,
		Picture: j.Pictures[art.Code]}
	if svg, ok := art.Letters(); ok { // the first name stands for all
		out.Picture = svg
	}
	if g, ok := j.Shop.Garment(k.garment); ok {
		out.Shape = silhouette(g)
	}
	if at, ok := j.printPlace(k); ok && measured(at) {
		out.Drop, out.From, out.Measure = at.Drop, cmp.Or(at.From, at.Words), t.shop.Units.Length(at.Drop)
	}
	return out
}

// silhouette guesses the outline of a garment from its fabric class and family
// of sizes, of whatever cut; one that neither tells has none.
func silhouette(g *programme.Garment) document.Silhouette {
	_, family := size.PartCut(g.SizeFamily)
	has := func(words ...string) bool {
		return slices.ContainsFunc(words, func(w string) bool {
			return strings.Contains(g.FabricClass, w) || strings.Contains(g.Code, w) ||
				strings.Contains(strings.ToLower(g.Name), w)
		})
	}
	switch {
	case has("apron"):
		return document.Apron
	case g.FabricClass == "cap" || has(" cap"):
		return document.Cap
	case has("visibility", "vest", "gilet"):
		return document.Vest
	case family == "bottom", has("trouser", "shorts"):
		return document.Trousers
	case family != "top":
		return document.NoSilhouette
	case has("fleece", "hood"):
		return document.Hooded
	case has("polo", "work-shirt", "woven", "denim"):
		return document.Polo
	}
	return document.Tee
}

func sizeList(t notation, pieces []tally) string {
	var names []string
	for _, table := range t.sizeTables(pieces) {
		names = append(names, table.Sizes...)
	}
	if len(names) == 1 && names[0] == oneSizeName {
		return "the one size"
	}
	return "size " + sentence(names)
}

// pressTable returns the size tables of a set as one table for the paper.
func pressTable(tables []sizeTable) page.Table {
	var out page.Table
	for i := range tables {
		t := tables[i].table()
		out.Columns, out.Rows = t.Columns, append(out.Rows, t.Rows...)
	}
	if len(out.Columns) > 0 {
		out.Columns[0].Head = "Colour"
	}
	return out
}

// settings returns what the operator sets. The supplier's own sheet goes before it.
func settings(t notation, a *programme.Artwork, k *programme.TransferKind, spares int, shared bool) []page.Fact {
	s := k.Settings
	u := t.shop.Units
	or := func(known bool, words string) string {
		if known {
			return words
		}
		return "see the supplier's sheet"
	}
	out := []page.Fact{
		{Label: "Transfer", Value: fmt.Sprintf("%s, %s wide, %s high", t.kindName(k.Code), u.Length(a.Width),
			u.Length(a.Height))},
		{Label: temperatureLabel, Value: or(s.Temperature > 0, u.Temperature(s.Temperature))},
		{Label: dwellLabel, Value: or(s.DwellSeconds > 0, seconds(s.DwellSeconds))},
		{Label: "Pressure", Value: or(s.Pressure != "", clean.Short(s.Pressure))},
		{Label: "Peel", Value: or(s.Peel != "", clean.Short(s.Peel))},
		{Label: "Press the bare garment first for", Value: or(s.PrePressTime > 0, seconds(s.PrePressTime))},
	}
	if s.RePressTime > 0 {
		out = append(out, page.Fact{Label: "Press again after peeling for", Value: seconds(s.RePressTime)})
	}
	if s.CoverSheet {
		out = append(out, page.Fact{Label: "Cover sheet", Value: "yes"})
	}
	if spares > 0 {
		words := strconv.Itoa(spares)
		if shared {
			words += " for all garments that carry it"
		}
		out = append(out, page.Fact{Label: "Spare transfers for misprints", Value: words})
	}
	if s.Notes != "" {
		out = append(out, page.Fact{Label: "Note", Value: clean.Line(s.Notes)})
	}
	return out
}

// cooler puts the limit of a cloth with polyester in the place of a transfer's heat, so that
// one temperature stands at the press and not two.
func cooler(t notation, s *programme.PressSettings, facts []page.Fact) []page.Fact {
	for i := range facts {
		switch facts[i].Label {
		case temperatureLabel:
			facts[i].Value = "no more than " + t.shop.Units.Temperature(s.PolyesterLimit()) + " on this cloth"
		case dwellLabel:
			facts[i].Value = "as long as the transfer's maker says for that heat"
		}
	}
	return facts
}

const (
	temperatureLabel = "Temperature"
	dwellLabel       = "Press for"
)

func seconds(x float64) string { return oneDecimal(x) + " s" }

// spares returns the allowance for misprints of an artwork in this job's transfers.
func (j *Job) spares(artwork string) int {
	n := 0
	for i := range j.Lines {
		if j.Lines[i].Artwork == artwork {
			n += j.Lines[i].Spoilage
		}
	}
	return n
}

func unique(list []string) []string {
	var out []string
	for _, s := range list {
		if !slices.Contains(out, s) {
			out = append(out, s)
		}
	}
	return out
}
