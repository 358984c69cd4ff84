package setup

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"go.yaml.in/yaml/v3"

	"github.com/kitmuster/kitmuster/programme"
)

// Checks of what entries say about each other. They run once every value by
// itself is well-formed, so that one slip is not reported three times.

func checkShop(r *reader, root *yaml.Node, s *programme.Shop) {
	unique(r, root, "suppliers", s.Suppliers, func(x *programme.Supplier) string { return x.Code })
	unique(r, root, "garments", s.Garments, func(x *programme.Garment) string { return x.Code })
	unique(r, root, "transfer_kinds", s.Kinds, func(x *programme.TransferKind) string { return x.Code })
	unique(r, root, "artworks", s.Artworks, func(x *programme.Artwork) string { return x.Code })
	unique(r, root, "managers", s.Managers, func(x *programme.Manager) string { return x.Code })
	suppliers := codesOf(s.Suppliers, func(x *programme.Supplier) string { return x.Code })
	taxes := codesOf(s.Terms.Taxes, func(x *programme.Tax) string { return x.Code })
	fabrics := codesOf(s.Baselines.Fabrics, func(x *programme.FabricBaseline) string { return x.Code })
	for i := range s.Garments {
		g := &s.Garments[i]
		r.known(at(root, "garments", i, "supplier"), "garments."+g.Code+".supplier", g.Supplier, "supplier", suppliers)
		if g.Tax != "" {
			r.known(at(root, "garments", i, "tax"), "garments."+g.Code+".tax", g.Tax, "tax", taxes)
		}
		r.known(at(root, "garments", i, "fabric_class"), "garments."+g.Code+".fabric_class", g.FabricClass,
			"fabric class", fabrics)
		if g.Name == "" {
			g.Name = g.Code
		}
		checkGarment(r, at(root, "garments", i), g)
	}
	for i := range s.Kinds {
		checkKind(r, at(root, "transfer_kinds", i), s, &s.Kinds[i], suppliers)
	}
	for i := range s.Artworks {
		checkArtwork(r, at(root, "artworks", i), s, &s.Artworks[i])
	}
	checkBaselines(r, at(root, "baselines"), &s.Baselines)
}

func checkBaselines(r *reader, n *yaml.Node, b *programme.Baselines) {
	for i := range b.Fabrics {
		if f := &b.Fabrics[i]; f.Fibre == "" || f.Median <= 0 || f.Shape <= 0 {
			r.wrong(at(n, "fabrics"), "baselines.fabrics", "the fabric class %s needs fibre, median_washes and shape",
				f.Code)
		}
	}
	for i := range b.Regimes {
		if x := &b.Regimes[i]; x.Cotton <= 0 || x.Blend <= 0 || x.Polyester <= 0 || x.Column == "" {
			r.wrong(at(n, "regimes"), "baselines.regimes", "the regime %s needs cotton, blend, polyester and column",
				x.Code)
		}
	}
	for i := range b.Decorations {
		d := &b.Decorations[i]
		if d.Median > 0 && (d.Shape <= 0 || d.HomeHot <= 0 || d.OnPremises <= 0 || d.Industrial <= 0) {
			r.wrong(at(n, "decorations"), "baselines.decorations",
				"the decoration %s needs shape, home_hot, on_premises and industrial", d.Code)
		}
	}
}

func checkGarment(r *reader, n *yaml.Node, g *programme.Garment) {
	path := "garments." + g.Code
	if len(g.Sizes) == 0 || len(g.Colours) == 0 {
		r.wrong(n, path, "a garment needs at least one colour and one size")
	}
	twice(r, n, "sizes", path, g.Sizes, func(s *programme.GarmentSize) string { return s.Code })
	twice(r, n, "colours", path, g.Colours, func(c *string) string { return *c })
	twice(r, n, "placements", path, g.Placements, func(p *programme.Placement) string { return p.Place })
	for i := 1; i < len(g.Breaks); i++ {
		if g.Breaks[i].From <= g.Breaks[i-1].From {
			r.wrong(at(n, "breaks", i), path+".breaks", "breaks must rise: %d stands after %d", g.Breaks[i].From,
				g.Breaks[i-1].From)
		}
	}
	if g.Protective != programme.NotProtective && child(n, "label_washes") == nil {
		r.wrong(n, path, "protective clothing needs label_washes: the greatest number of washes on its label, or 0 when you have looked and the label states none")
	}
}

// twice reports entries of a list that stand twice.
func twice[E any](r *reader, n *yaml.Node, key, path string, list []E, nameOf func(*E) string) {
	seen := map[string]bool{}
	for i := range list {
		if name := nameOf(&list[i]); seen[name] {
			r.wrong(at(n, key, i), join(path, key), "%q stands twice; keep one", short(name))
		} else {
			seen[name] = true
		}
	}
}

func checkKind(r *reader, n *yaml.Node, s *programme.Shop, k *programme.TransferKind, suppliers []string) {
	path := "transfer_kinds." + k.Code
	r.known(at(n, "printer"), path+".printer", k.Printer, "supplier", suppliers)
	r.known(at(n, "decoration"), path+".decoration", k.Decoration, "decoration",
		codesOf(s.Baselines.Decorations, func(x *programme.DecorationBaseline) string { return x.Code }))
	if k.Name == "" {
		k.Name = k.Code
	}
	for i := range k.Offers {
		r.known(at(n, "offers", i, "printer"), path+".offers", k.Offers[i].Printer, "supplier", suppliers)
		if k.Offers[i].Printer == k.Printer {
			r.wrong(at(n, "offers", i), path+".offers",
				"%s prints the kind already; an offer is that of another printer", k.Printer)
		}
	}
	twice(r, n, "offers", path, k.Offers, func(o *programme.PrintOffer) string { return o.Printer })
	for i, way := range k.Ways() {
		if i == 0 {
			checkTerms(r, n, path, &way)
		} else {
			checkTerms(r, at(n, "offers", i-1), path+".offers", &way)
		}
	}
}

// checkTerms checks what one printer of a kind asks for.
func checkTerms(r *reader, n *yaml.Node, path string, k *programme.TransferKind) {
	if len(k.Sheets) == 0 || len(k.Prices) == 0 {
		r.wrong(n, path, "a transfer kind needs at least one sheet and one price")
	}
	for i := range k.Sheets {
		checkSheet(r, at(n, "sheets", i), path+".sheets", k, &k.Sheets[i])
	}
	if k.Process == programme.Digital && (k.SetUpPerInk > 0 || k.BreaksPerOrder) {
		r.wrong(n, path,
			"set_up_per_ink and breaks_per_order are terms of screen-printed sheets; leave them out of a digital kind")
	}
	checkBreaks(r, n, path, k.Prices)
}

func checkSheet(r *reader, n *yaml.Node, path string, k *programme.TransferKind, sh *programme.SheetSize) {
	if sh.Width <= 2*k.Margin || sh.Height <= 2*k.Margin {
		r.wrong(n, path, "the sheet %s is not larger than its two margins", sh.Code)
	}
	if sh.Roll && k.Process == programme.ScreenPrinted {
		r.wrong(n, path, "screen-printed kinds are printed on sheets; leave roll out or make the kind digital")
	}
	if !sh.Roll && (sh.Step > 0 || len(sh.Lengths) > 0) {
		r.wrong(n, path, "step and lengths are terms of a roll; leave them out of the sheet %s", sh.Code)
	}
	if unit := k.UnitOf(sh); (unit == programme.PerSheet) == sh.Roll && unit != programme.PerSquareMetre &&
		unit != programme.PerSquareFoot {
		r.wrong(n, path, "%s is priced by the %s; a sheet is priced by the sheet or by area, a roll by length or by area", sh.Code, unit)
	}
	for i := range sh.Lengths {
		l := &sh.Lengths[i]
		if l.Length <= 2*k.Margin || l.Length > sh.Height || (i > 0 && l.Length <= sh.Lengths[i-1].Length) {
			r.wrong(at(n, "lengths", i), path+".lengths",
				"lengths must rise, from more than two margins to the longest piece of the roll at the most")
		}
	}
	checkBreaks(r, n, path, sh.Prices)
}

func checkBreaks(r *reader, n *yaml.Node, path string, prices []programme.PriceBreak) {
	for i := 1; i < len(prices); i++ {
		if prices[i].From <= prices[i-1].From {
			r.wrong(at(n, "prices", i), path+".prices", "breaks must rise: %g stands after %g", prices[i].From,
				prices[i-1].From)
		}
	}
}

func checkArtwork(r *reader, n *yaml.Node, s *programme.Shop, a *programme.Artwork) {
	path := "artworks." + a.Code
	r.known(at(n, "kind"), path+".kind", a.Kind, "transfer kind",
		codesOf(s.Kinds, func(x *programme.TransferKind) string { return x.Code }))
	if a.Name == "" {
		a.Name = a.Code
	}
	if a.Width <= 0 || a.Height <= 0 {
		r.wrong(n, path, "width and height must be above 0")
	}
	checkVersions(r, n, path, a)
	checkText(r, n, path, s, a)
	k, known := s.Kind(a.Kind)
	if known && !fits(k, a) {
		r.wrong(n, path, "it is larger than every sheet of %s inside the margins", k.Code)
	}
	for _, x := range a.Sizes {
		if sized, ok := s.Artwork(a.Code + "_" + x.On); known && ok && !fits(k, sized) {
			r.wrong(at(n, "sizes"), path+".sizes", "on %s it is larger than every sheet of %s inside the margins",
				x.On, k.Code)
		}
	}
}

// usualLetters is the colour of names where the shop file states none.
const usualLetters = "#000000"

// checkText checks an artwork of names, and fills in the colour of its letters.
func checkText(r *reader, n *yaml.Node, path string, s *programme.Shop, a *programme.Artwork) {
	if a.Text == programme.NoText {
		for _, key := range []string{"letter_colour", "least_letters"} {
			if child(n, key) != nil {
				r.wrong(at(n, key), path, "%s stands without text; say which name is printed, such as text: first-name",
					key)
			}
		}
		return
	}
	if a.File != "" || len(a.Versions) > 0 || len(a.Sizes) > 0 {
		r.wrong(n, path, "an artwork with text is set in letters; leave out its file, versions and sizes")
	}
	if k, ok := s.Kind(a.Kind); ok && k.Process != programme.Digital {
		r.wrong(at(n, "kind"), path+".kind",
			"names are printed once each, so they need a digital kind; %s is screen-printed", k.Code)
	}
	if a.LeastLetters > a.Height {
		r.wrong(at(n, "least_letters"), path+".least_letters",
			"the least letters are higher than the height of the artwork")
	}
	if a.LetterColour == "" {
		a.LetterColour = usualLetters
	}
}

func checkVersions(r *reader, n *yaml.Node, path string, a *programme.Artwork) {
	twice(r, n, "versions", path, a.Versions, func(v *programme.ArtworkVersion) string { return v.Version })
	if len(a.Versions) > 0 && a.File != "" {
		r.wrong(at(n, "file"), path+".file", "file and versions both stand; keep the versions, each with its file")
	}
	last := programme.Date(0)
	for i := range a.Versions {
		v := &a.Versions[i]
		if !v.Approved.IsZero() && v.Approved < last {
			r.wrong(at(n, "versions", i), path+".versions",
				"version %s was approved on %s, before the one above it (%s); put the oldest first", v.Version,
				v.Approved, last)
		}
		last = max(last, v.Approved)
	}
}

func fits(k *programme.TransferKind, a *programme.Artwork) bool {
	for _, way := range k.Ways() {
		for i := range way.Sheets {
			w, h := way.Sheets[i].Width-2*k.Margin, way.Sheets[i].Height-2*k.Margin
			if a.Width <= w && a.Height <= h || a.Turn && a.Height <= w && a.Width <= h {
				return true
			}
		}
	}
	return false
}

func checkLaundering(r *reader, root *yaml.Node, c *programme.Client, s *programme.Shop) {
	regimes := codesOf(s.Baselines.Regimes, func(x *programme.Regime) string { return x.Code })
	r.known(at(root, "laundering", "regime"), "laundering.regime", c.Laundering.Regime, "laundering regime", regimes)
	before := c.Laundering.Before
	for i, f := range before {
		path := fmt.Sprintf("laundering.before[%d]", i+1)
		r.known(at(root, "laundering", "before", i, "regime"), path+".regime", f.Regime, "laundering regime", regimes)
		if i > 0 && !f.Until.IsZero() && f.Until <= before[i-1].Until {
			r.wrong(at(root, "laundering", "before", i, "until"), path+".until",
				"read %s, which is not after the %s of the entry above; write the oldest first", f.Until,
				before[i-1].Until)
		}
	}
}

func checkClient(r *reader, root *yaml.Node, c *programme.Client, s *programme.Shop) {
	unique(r, root, "roles", c.Roles, func(x *programme.Role) string { return x.Code })
	checkLaundering(r, root, c, s)
	if c.Manager != "" {
		r.known(at(root, "manager"), "manager", c.Manager, "manager",
			codesOf(s.Managers, func(x *programme.Manager) string { return x.Code }))
	}
	if (c.Leavers.PerYear > 0 || c.Leavers.Nobody) && c.Leavers.Strength == 0 {
		c.Leavers.Strength = s.Baselines.LeaversPersonYears
	}
	if len(c.Roles) == 0 {
		r.wrong(root, "roles", "a programme needs at least one role with a kit")
	}
	checkByMail(r, root, c)
	garments := codesOf(s.Garments, func(x *programme.Garment) string { return x.Code })
	checkPrices(r, root, c, s, garments)
	for i := range c.Roles {
		checkRole(r, at(root, "roles", i), c, s, &c.Roles[i], garments)
	}
	roles := codesOf(c.Roles, func(x *programme.Role) string { return x.Code })
	for _, code := range slices.Sorted(maps.Keys(c.Intake.PerRole)) {
		r.known(at(root, "intake", "a_year_by_role"), "intake.a_year_by_role", code, "role", roles)
	}
	if len(c.Intake.PerRole) > 0 && (c.Intake.PerYear > 0 || c.Intake.Nobody) {
		r.wrong(at(root, "intake"), "intake", "a_year and a_year_by_role both stand; keep one")
	}
}

// checkByMail looks for addresses that stand twice, and for a list of answers without
// the one that proposals are written to.
func checkByMail(r *reader, root *yaml.Node, c *programme.Client) {
	n, m := at(root, "by_mail"), &c.ByMail
	for _, l := range []struct {
		key  string
		list []string
	}{{"answers", m.Answers}, {"changes", m.Changes}, {"counts", m.Counts}, {"rosters", m.Rosters},
		{"day_sheets", m.DaySheets}} {
		twice(r, n, l.key, "by_mail", l.list, func(s *string) string { return strings.ToLower(*s) })
	}
	if e := c.Customer.Email; e != "" && len(m.Answers) > 0 &&
		!slices.ContainsFunc(m.Answers, func(s string) bool { return strings.EqualFold(s, e) }) {
		r.wrong(at(n, "answers"), "by_mail.answers",
			"%s gets the proposals and is not among those who may answer; add the address, or name another customer", e)
	}
}

func checkPrices(r *reader, root *yaml.Node, c *programme.Client, s *programme.Shop, garments []string) {
	twice(r, root, "prices", "", c.Prices, func(p *programme.Price) string {
		name := strings.TrimSuffix(p.Garment+" "+p.Size, " ")
		if !p.From.IsZero() {
			name += " from " + p.From.String()
		}
		return name
	})
	for i := range c.Prices {
		p := &c.Prices[i]
		r.known(at(root, "prices", i), "prices", p.Garment, "garment", garments)
		if g, ok := s.Garment(p.Garment); ok && p.Size != "" {
			sizes := codesOf(g.Sizes, func(x *programme.GarmentSize) string { return x.Code })
			r.known(at(root, "prices", i, "size"), "prices."+g.Code, p.Size, "size of "+g.Code, sizes)
		}
	}
}

func checkRole(r *reader, n *yaml.Node, c *programme.Client, s *programme.Shop, role *programme.Role,
	garments []string) {
	if role.Name == "" {
		role.Name = role.Code
	}
	twice(r, n, "kit", "roles."+role.Code, role.Kit,
		func(k *programme.KitLine) string { return k.Garment + " " + k.Colour })
	for j := range role.Kit {
		checkKit(r, at(n, "kit", j), c, s, role, &role.Kit[j], garments)
	}
	checkChanges(r, n, s, role, garments)
	checkCuts(r, n, s, role)
}

func checkKit(r *reader, n *yaml.Node, c *programme.Client, s *programme.Shop, role *programme.Role,
	k *programme.KitLine, garments []string) {
	path := "roles." + role.Code + ".kit"
	r.known(at(n, "garment"), path, k.Garment, "garment", garments)
	g, ok := s.Garment(k.Garment)
	if !ok {
		return
	}
	checkFirst(r, n, path+"."+g.Code, k)
	r.known(at(n, "colour"), path+"."+g.Code, k.Colour, "colour of "+g.Code, g.Colours)
	for i := range k.Decorations {
		d := &k.Decorations[i]
		a, ok := s.Artwork(d.Artwork)
		switch {
		case !ok:
			var own []string
			for j := range s.Artworks {
				if s.Artworks[j].Client == c.Code {
					own = append(own, s.Artworks[j].Code)
				}
			}
			r.known(at(n, "decorations", i), path+"."+g.Code, d.Artwork, "artwork", own)
		case a.Client != c.Code:
			r.wrong(at(n, "decorations", i), path+"."+g.Code, "the artwork %s belongs to another client (%s)",
				a.Code, a.Client)
		case polyesterOnly(s, a) && fibreOf(s, g) != programme.Polyester:
			r.wrong(at(n, "decorations", i), path+"."+g.Code,
				"the print of %s takes on polyester alone, and %s is not of polyester", a.Code, g.Code)
		}
		if len(g.Placements) > 0 {
			r.known(at(n, "decorations", i, "place"), path+"."+g.Code, d.Place, "placement on "+g.Code,
				codesOf(g.Placements, func(p *programme.Placement) string { return p.Place }))
		}
	}
}

// checkFirst checks a kit that is given in two parts, and fills in when the second follows.
func checkFirst(r *reader, n *yaml.Node, path string, k *programme.KitLine) {
	switch {
	case k.First == 0 && k.RestAfterWeeks > 0:
		r.wrong(at(n, "rest_after_weeks"), path,
			"rest_after_weeks stands without first; say how many pieces are given on the first day, such as first: 3")
	case k.First > 0 && k.First >= k.Each:
		r.wrong(at(n, "first"), path, "first is %d and each is %d, so no rest is left to follow; leave first out where all are given at once", k.First, k.Each)
	case k.First > 0 && k.RestAfterWeeks == 0:
		k.RestAfterWeeks = programme.UsualRestAfterWeeks
	}
}

// polyesterOnly reports whether the artwork's kind of print needs polyester cloth.
func polyesterOnly(s *programme.Shop, a *programme.Artwork) bool {
	k, ok := s.Kind(a.Kind)
	if !ok {
		return false
	}
	i := indexOf(s.Baselines.Decorations, k.Decoration, func(d *programme.DecorationBaseline) string { return d.Code })
	return i >= 0 && s.Baselines.Decorations[i].PolyesterOnly
}

func fibreOf(s *programme.Shop, g *programme.Garment) programme.Fibre {
	i := indexOf(s.Baselines.Fabrics, g.FabricClass, func(f *programme.FabricBaseline) string { return f.Code })
	if i < 0 {
		return ""
	}
	return s.Baselines.Fabrics[i].Fibre
}
