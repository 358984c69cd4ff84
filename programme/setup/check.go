package setup

import (
	"strings"

	"go.yaml.in/yaml/v3"

	"github.com/kitmuster/kitmuster/programme"
)

// Checks of what entries say about each other. They run once every value by
// itself is well-formed, so that one slip is not reported three times.

// known reports an unknown reference with the nearest code there is.
func (r *reader) known(n *yaml.Node, path, code, what string, have []string) {
	for _, h := range have {
		if h == code {
			return
		}
	}
	if near, ok := nearest(code, have); ok {
		r.wrong(n, path, "there is no %s %q; did you mean %s?", what, short(code), near)
		return
	}
	r.wrong(n, path, "there is no %s %q; known are: %s", what, short(code), strings.Join(have, ", "))
}

// unique reports codes that stand twice.
func unique[E any](r *reader, root *yaml.Node, key string, list []E, codeOf func(*E) string) {
	seen := map[string]bool{}
	for i := range list {
		c := codeOf(&list[i])
		if seen[c] {
			r.wrong(at(root, key, i), key, "the code %q stands twice; codes must differ", short(c))
		}
		seen[c] = true
	}
}

func codesOf[E any](list []E, codeOf func(*E) string) []string {
	all := make([]string, len(list))
	for i := range list {
		all[i] = codeOf(&list[i])
	}
	return all
}

// at finds the node of a path of keys and list positions, for its line; the
// nearest enclosing node when the path is not there.
func at(n *yaml.Node, path ...any) *yaml.Node {
	for _, step := range path {
		next := child(n, step)
		if next == nil {
			return n
		}
		n = next
	}
	return n
}

func child(n *yaml.Node, step any) *yaml.Node {
	switch s := step.(type) {
	case string:
		for i := 0; n.Kind == yaml.MappingNode && i+1 < len(n.Content); i += 2 {
			if n.Content[i].Value == s {
				return n.Content[i+1]
			}
		}
	case int:
		if n.Kind == yaml.SequenceNode && s < len(n.Content) {
			return n.Content[s]
		}
	}
	return nil
}

func checkShop(r *reader, root *yaml.Node, s *programme.Shop) {
	unique(r, root, "suppliers", s.Suppliers, func(x *programme.Supplier) string { return x.Code })
	unique(r, root, "garments", s.Garments, func(x *programme.Garment) string { return x.Code })
	unique(r, root, "transfer_kinds", s.Kinds, func(x *programme.TransferKind) string { return x.Code })
	unique(r, root, "artworks", s.Artworks, func(x *programme.Artwork) string { return x.Code })
	unique(r, root, "managers", s.Managers, func(x *programme.Manager) string { return x.Code })
	suppliers := codesOf(s.Suppliers, func(x *programme.Supplier) string { return x.Code })
	fabrics := codesOf(s.Baselines.Fabrics, func(x *programme.FabricBaseline) string { return x.Code })
	for i := range s.Garments {
		g := &s.Garments[i]
		r.known(at(root, "garments", i, "supplier"), "garments."+g.Code+".supplier", g.Supplier, "supplier", suppliers)
		r.known(at(root, "garments", i, "fabric_class"), "garments."+g.Code+".fabric_class", g.FabricClass, "fabric class", fabrics)
		if g.Name == "" {
			g.Name = g.Code
		}
		checkSizes(r, at(root, "garments", i), g)
	}
	for i := range s.Kinds {
		checkKind(r, at(root, "transfer_kinds", i), s, &s.Kinds[i], suppliers)
	}
	for i := range s.Artworks {
		checkArtwork(r, at(root, "artworks", i), s, &s.Artworks[i])
	}
	for i := range s.Baselines.Fabrics {
		if f := &s.Baselines.Fabrics[i]; f.Fibre == "" || f.Median <= 0 || f.Shape <= 0 {
			r.wrong(at(root, "baselines", "fabrics"), "baselines.fabrics", "the fabric class %s needs fibre, median_washes and shape", f.Code)
		}
	}
}

func checkSizes(r *reader, n *yaml.Node, g *programme.Garment) {
	if len(g.Sizes) == 0 || len(g.Colours) == 0 {
		r.wrong(n, "garments."+g.Code, "a garment needs at least one colour and one size")
	}
	seen := map[string]bool{}
	for i := range g.Sizes {
		if seen[g.Sizes[i].Code] {
			r.wrong(at(n, "sizes", i), "garments."+g.Code+".sizes", "the size %s stands twice", g.Sizes[i].Code)
		}
		seen[g.Sizes[i].Code] = true
	}
	if (g.Median > 0) != (g.Shape > 0) && g.Shape > 0 {
		r.wrong(n, "garments."+g.Code, "shape stands without median_washes; give both or the second alone")
	}
}

func checkKind(r *reader, n *yaml.Node, s *programme.Shop, k *programme.TransferKind, suppliers []string) {
	path := "transfer_kinds." + k.Code
	r.known(at(n, "printer"), path+".printer", k.Printer, "supplier", suppliers)
	r.known(at(n, "decoration"), path+".decoration", k.Decoration, "decoration", codesOf(s.Baselines.Decorations, func(x *programme.DecorationBaseline) string { return x.Code }))
	if k.Name == "" {
		k.Name = k.Code
	}
	if len(k.Sheets) == 0 || len(k.Prices) == 0 {
		r.wrong(n, path, "a transfer kind needs at least one sheet and one price")
	}
	for i := range k.Sheets {
		sh := &k.Sheets[i]
		if sh.Width <= 2*k.Margin || sh.Height <= 2*k.Margin {
			r.wrong(at(n, "sheets", i), path+".sheets", "the sheet %s is not larger than its two margins", sh.Code)
		}
		if sh.Roll != (k.Process == programme.Digital) {
			r.wrong(at(n, "sheets", i), path+".sheets", "digital kinds are priced by the length of a roll and screen-printed ones by the sheet; set roll and process to agree")
		}
	}
	for i := 1; i < len(k.Prices); i++ {
		if k.Prices[i].From <= k.Prices[i-1].From {
			r.wrong(at(n, "prices", i), path+".prices", "breaks must rise: %g stands after %g", k.Prices[i].From, k.Prices[i-1].From)
		}
	}
}

func checkArtwork(r *reader, n *yaml.Node, s *programme.Shop, a *programme.Artwork) {
	path := "artworks." + a.Code
	r.known(at(n, "kind"), path+".kind", a.Kind, "transfer kind", codesOf(s.Kinds, func(x *programme.TransferKind) string { return x.Code }))
	if a.Name == "" {
		a.Name = a.Code
	}
	if a.Width <= 0 || a.Height <= 0 {
		r.wrong(n, path, "width and height must be above 0")
	}
	if k, ok := s.Kind(a.Kind); ok && !fits(k, a) {
		r.wrong(n, path, "it is larger than every sheet of %s inside the margins", k.Code)
	}
}

func fits(k *programme.TransferKind, a *programme.Artwork) bool {
	for i := range k.Sheets {
		w, h := k.Sheets[i].Width-2*k.Margin, k.Sheets[i].Height-2*k.Margin
		if a.Width <= w && a.Height <= h || a.Turn && a.Height <= w && a.Width <= h {
			return true
		}
	}
	return false
}

func checkClient(r *reader, root *yaml.Node, c *programme.Client, s *programme.Shop) {
	unique(r, root, "roles", c.Roles, func(x *programme.Role) string { return x.Code })
	r.known(at(root, "laundering", "regime"), "laundering.regime", c.Laundering.Regime, "laundering regime", codesOf(s.Baselines.Regimes, func(x *programme.Regime) string { return x.Code }))
	if c.Manager != "" {
		r.known(at(root, "manager"), "manager", c.Manager, "manager", codesOf(s.Managers, func(x *programme.Manager) string { return x.Code }))
	}
	if c.Leavers.PerYear > 0 && c.Leavers.Strength == 0 {
		c.Leavers.Strength = s.Baselines.LeaversPersonYears
	}
	if len(c.Roles) == 0 {
		r.wrong(root, "roles", "a programme needs at least one role with a kit")
	}
	garments := codesOf(s.Garments, func(x *programme.Garment) string { return x.Code })
	for i := range c.Prices {
		r.known(at(root, "prices", i), "prices", c.Prices[i].Garment, "garment", garments)
	}
	for i := range c.Roles {
		role := &c.Roles[i]
		if role.Name == "" {
			role.Name = role.Code
		}
		for j := range role.Kit {
			checkKit(r, at(root, "roles", i, "kit", j), c, s, role, &role.Kit[j], garments)
		}
	}
	for _, code := range sortedKeys(c.Intake.PerRole) {
		r.known(at(root, "intake", "a_year_by_role"), "intake.a_year_by_role", code, "role", codesOf(c.Roles, func(x *programme.Role) string { return x.Code }))
	}
}

func checkKit(r *reader, n *yaml.Node, c *programme.Client, s *programme.Shop, role *programme.Role, k *programme.KitLine, garments []string) {
	path := "roles." + role.Code + ".kit"
	r.known(at(n, "garment"), path, k.Garment, "garment", garments)
	g, ok := s.Garment(k.Garment)
	if !ok {
		return
	}
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
			r.wrong(at(n, "decorations", i), path+"."+g.Code, "the artwork %s belongs to another client (%s)", a.Code, a.Client)
		}
		if len(g.Placements) > 0 {
			r.known(at(n, "decorations", i, "place"), path+"."+g.Code, d.Place, "placement on "+g.Code, codesOf(g.Placements, func(p *programme.Placement) string { return p.Place }))
		}
	}
}
