package draft

import (
	"fmt"
	"strings"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/choose"
)

// Draft is a first proposal with its reasons.
type Draft struct {
	Client programme.Client
	// Artworks are the images the kits refer to; they must enter the catalogue.
	Artworks []programme.Artwork
	Garments []Pick
	Printing []string
	Washing  []string
	Cautions []string
	// Missing is what the catalogue lacks for this client.
	Missing []string
	// Outfit is the first issue of one person by role, in the shop's cost.
	Heads []Head
}

// Pick is why a garment is in a kit, with the options weighed against it.
type Pick struct {
	Role    string
	What    string
	Garment string
	Why     string
	Options []choose.Option
}

// Head is what one person of a role costs the shop.
type Head struct {
	Role   string
	People int
	Outfit programme.Money // first issue
	AYear  programme.Money // replacements in the long run, leavers included
}

// maker gathers a draft.
type maker struct {
	shop      programme.Shop
	in        *Intake
	out       *Draft
	polyester bool
}

// Make drafts a programme from an intake sheet and the shop's catalogue. It
// fails where the catalogue has nothing to put into any kit.
func Make(shop *programme.Shop, in *Intake) (*Draft, error) {
	if len(shop.Kinds) == 0 {
		return nil, fmt.Errorf("shop.yaml has no transfer kind; add one before drafting programmes")
	}
	d := &maker{shop: *shop, in: in, out: &Draft{Client: in.client()}}
	d.shop.Artworks = append([]programme.Artwork(nil), shop.Artworks...)
	for i := range in.Roles {
		if err := d.role(in.Roles[i]); err != nil {
			return nil, err
		}
	}
	if len(d.out.Client.Roles) == 0 {
		return nil, fmt.Errorf("the catalogue has none of what this client needs: %s", strings.Join(d.out.Missing, "; "))
	}
	d.out.Printing = in.printing(shop.Units)
	d.out.Washing = in.washing()
	d.out.Cautions = d.cautions()
	return d.out, nil
}

// client is the programme without its roles.
func (in *Intake) client() programme.Client {
	c := programme.Client{
		Code: in.Code, Name: in.Name, Trade: string(in.Trade), Customer: in.Customer, Manager: in.Manager,
		Work: in.Work, Laundering: in.Laundering,
		CoverWeeks: 13, FillRate: 0.95, ForgetAfterDays: 180, CountEveryWeeks: 26,
	}
	c.Work.Food = c.Work.Food || in.Trade == Food
	c.Leavers = programme.Leavers{PerYear: in.LeaversPerYear, Strength: 10}
	if c.Leavers.PerYear == 0 {
		c.Leavers.PerYear = in.Trade.leavers()
	}
	c.Intake = programme.Intake{PerYear: in.HiresPerYear, Strength: 1}
	if c.Intake.PerYear == 0 { // as many join as leave
		c.Intake.PerYear = float64(int(c.Leavers.PerYear*float64(in.Staff())*10+0.5)) / 10
	}
	if busy := in.Trade.busy(); len(busy) > 0 {
		for i := range c.Intake.Months {
			c.Intake.Months[i] = 1
		}
		for _, m := range busy {
			c.Intake.Months[m-1] = 2
		}
	}
	return c
}

func (d *maker) role(r Role) error {
	role := programme.Role{Code: r.Code, Name: r.Name}
	if role.Name == "" {
		role.Name = r.Code
	}
	head := Head{Role: role.Name, People: r.People}
	for _, it := range d.in.items(r) {
		line, pick, err := d.choose(r, &it)
		if err != nil {
			return err
		}
		if line == nil {
			continue
		}
		role.Kit = append(role.Kit, *line)
		d.out.Garments = append(d.out.Garments, *pick)
		o := &pick.Options[0]
		head.Outfit += o.Cost * programme.Money(line.Each)
		head.AYear += o.ShopCostAMonth * 12
	}
	if len(role.Kit) > 0 {
		d.out.Client.Roles = append(d.out.Client.Roles, role)
		d.out.Heads = append(d.out.Heads, head)
	}
	return nil
}

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
	best := &options[0]
	g, _ := d.shop.Garment(best.Garment)
	line.Garment, line.Colour = g.Code, d.colour(g)
	line.Decorations = d.settle(g, d.marksOn(g, it), best.Kind)
	d.polyester = d.polyester || d.fibre(g) == programme.Polyester
	return &line, &Pick{Role: r.Code, What: it.what, Garment: g.Name, Why: it.why + d.cheaper(fit[0], options), Options: options}, nil
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

// fitting are the catalogue's garments of the wanted classes, those of the
// first class in front.
func (d *maker) fitting(it *item) []*programme.Garment {
	var out []*programme.Garment
	for _, class := range it.classes {
		for i := range d.shop.Garments {
			g := &d.shop.Garments[i]
			if g.FabricClass == class && g.Protective == it.protective && inFamily(g.SizeFamily, it.families) {
				out = append(out, g)
			}
		}
	}
	return out
}

func inFamily(family string, wanted []string) bool {
	for _, w := range wanted {
		if w == family {
			return true
		}
	}
	return len(wanted) == 0
}

func (d *maker) missing(it *item) {
	says := fmt.Sprintf("no %s (%s) in shop.yaml: %s", it.what, strings.Join(it.classes, ", "), it.why)
	for _, m := range d.out.Missing {
		if m == says {
			return
		}
	}
	d.out.Missing = append(d.out.Missing, says)
}

// colour is the wanted one where the garment comes in it, else its first.
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

// marksOn are the marks for which the garment has a place, under its name there.
func (d *maker) marksOn(g *programme.Garment, it *item) []mark {
	if len(g.Placements) == 0 {
		return it.marks
	}
	var out []mark
	for _, m := range it.marks {
		for _, name := range append([]string{m.place}, m.also...) {
			if hasPlace(g, name) {
				m.place = name
				out = append(out, m)
				break
			}
		}
	}
	return out
}

func hasPlace(g *programme.Garment, name string) bool {
	for _, p := range g.Placements {
		if p.Place == name {
			return true
		}
	}
	return false
}

// decorations puts the marks on a garment as artworks of the first kind that
// holds them, for weighing; settle makes them final.
func (d *maker) decorations(g *programme.Garment, marks []mark) []programme.Decoration {
	var out []programme.Decoration
	for _, m := range marks {
		art := d.artwork(m, d.anyKind())
		art.Code = fmt.Sprintf("draft %s %d", m.suffix, len(d.shop.Artworks))
		d.shop.Artworks = append(d.shop.Artworks, art)
		out = append(out, programme.Decoration{Artwork: art.Code, Place: m.place})
	}
	return out
}

// anyKind is a kind of transfer that takes on every fibre, or else the first.
func (d *maker) anyKind() string {
	polyester := map[string]bool{}
	for _, x := range d.shop.Baselines.Decorations {
		polyester[x.Code] = x.PolyesterOnly
	}
	for _, k := range d.shop.Kinds {
		if !polyester[k.Decoration] {
			return k.Code
		}
	}
	return d.shop.Kinds[0].Code
}

func (d *maker) artwork(m mark, kind string) programme.Artwork {
	a := programme.Artwork{
		Code: d.in.Code + "-" + m.suffix, Client: d.in.Code, Name: "Mark for the " + strings.ReplaceAll(m.place, "-", " "),
		Kind: kind, Width: m.wide, Height: m.high, Turn: true,
	}
	if k, ok := d.shop.Kind(kind); ok && k.Process == programme.ScreenPrinted {
		a.Inks = 1
	}
	if m.suffix == "back" {
		a.Name = "Lettering for the back"
	}
	return a
}

// settle returns the final decorations, adding each artwork once. The same mark
// on cloths that want different kinds of transfer becomes two artworks.
func (d *maker) settle(g *programme.Garment, marks []mark, kind string) []programme.Decoration {
	var out []programme.Decoration
	for _, m := range marks {
		art := d.artwork(m, kind)
		for _, have := range d.out.Artworks {
			if have.Code == art.Code && have.Kind != kind {
				art.Code += "-" + kind
			}
		}
		if !d.has(art.Code) {
			d.out.Artworks = append(d.out.Artworks, art)
		}
		out = append(out, programme.Decoration{Artwork: art.Code, Place: m.place})
	}
	return out
}

func (d *maker) has(code string) bool {
	for _, a := range d.out.Artworks {
		if a.Code == code {
			return true
		}
	}
	return false
}

func (d *maker) fibre(g *programme.Garment) programme.Fibre {
	for _, f := range d.shop.Baselines.Fabrics {
		if f.Code == g.FabricClass {
			return f.Fibre
		}
	}
	return ""
}
