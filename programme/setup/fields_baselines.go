package setup

import (
	"fmt"
	"reflect"

	"go.yaml.in/yaml/v3"

	"github.com/kitmuster/kitmuster/programme"
)

// baselineField reads overrides: an entry of a known code changes what it
// names and keeps the rest, a new code adds an entry. Written files hold only
// what differs from the shipped figures.
func baselineField() field[programme.Shop] {
	return field[programme.Shop]{
		key: "baselines", help: "wear figures of your own in place of the starting ones",
		read: func(r *reader, n *yaml.Node, path string, into *programme.Shop) {
			mapping(r, n, path, baselineFields(), &into.Baselines)
		},
		write: func(from *programme.Shop, all bool) *yaml.Node {
			if reflect.DeepEqual(from.Baselines, programme.DefaultBaselines()) ||
				reflect.DeepEqual(from.Baselines, programme.Baselines{}) {
				return nil
			}
			if n := encode(baselineFields(), &from.Baselines, all); len(n.Content) > 0 {
				return n
			}
			return nil
		},
	}
}

func baselineFields() []field[programme.Baselines] {
	type B = programme.Baselines
	d := programme.DefaultBaselines()
	factor := func(key, help string, otherwise float64, at func(*B) *float64) field[B] {
		return number(key, help, 0.01, 10, otherwise, at)
	}
	return []field[B]{
		overrides("fabrics", "wear life by fabric class", fabricFields(), d.Fabrics,
			func(f *programme.FabricBaseline) string { return f.Code },
			func(b *B) *[]programme.FabricBaseline { return &b.Fabrics }),
		overrides("regimes", "multipliers of life by laundering", regimeFields(), d.Regimes,
			func(x *programme.Regime) string { return x.Code }, func(b *B) *[]programme.Regime { return &b.Regimes }),
		overrides("decorations", "life of prints", decorationFields(), d.Decorations,
			func(x *programme.DecorationBaseline) string { return x.Code },
			func(b *B) *[]programme.DecorationBaseline { return &b.Decorations }),
		factor("light", "duty", d.Light, func(b *B) *float64 { return &b.Light }),
		factor("medium", "duty", d.Medium, func(b *B) *float64 { return &b.Medium }),
		factor("heavy", "duty", d.Heavy, func(b *B) *float64 { return &b.Heavy }),
		factor("dirty", "duty", d.Dirty, func(b *B) *float64 { return &b.Dirty }),
		factor("strong_sun", "", d.StrongSun, func(b *B) *float64 { return &b.StrongSun }),
		factor("chlorine_cotton", "", d.ChlorineCotton, func(b *B) *float64 { return &b.ChlorineCotton }),
		factor("chlorine_blend", "", d.ChlorineBlend, func(b *B) *float64 { return &b.ChlorineBlend }),
		factor("chlorine_polyester", "", d.ChlorinePolyester, func(b *B) *float64 { return &b.ChlorinePolyester }),
		factor("decoration_chlorine", "", d.DecorationChlorine, func(b *B) *float64 { return &b.DecorationChlorine }),
		factor("decoration_softener", "", d.Softener, func(b *B) *float64 { return &b.Softener }),
		factor("decoration_no_pre_press", "", d.NoPrePress, func(b *B) *float64 { return &b.NoPrePress }),
		number("mishaps_a_year", "lost, torn, stained past use, per piece", 0, 50, d.MishapPerYear,
			func(b *B) *float64 { return &b.MishapPerYear }),
		number("mishaps_a_year_food", "", 0, 50, d.MishapPerYearFood,
			func(b *B) *float64 { return &b.MishapPerYearFood }),
		number("prior_endings", "how many endings these figures are worth against records", 0.5, 1e6, d.PriorEndings,
			func(b *B) *float64 { return &b.PriorEndings }),
		number("leavers_a_year", "per head", 0, 20, d.LeaversPerYear, func(b *B) *float64 { return &b.LeaversPerYear }),
		number("leavers_person_years", "weight of that figure", 0, 1e6, d.LeaversPersonYears,
			func(b *B) *float64 { return &b.LeaversPersonYears }),
		number("size_prior_people", "weight of the size mix in people, before a roster shows how far it holds", 0, 1e6,
			d.SizePriorPeople, func(b *B) *float64 { return &b.SizePriorPeople }),
	}
}

func fabricFields() []field[programme.FabricBaseline] {
	type F = programme.FabricBaseline
	return []field[F]{
		code("code", "", func(f *F) *string { return &f.Code }).needed(),
		text("name", "", func(f *F) *string { return &f.Name }),
		word("fibre", "", []programme.Fibre{programme.Cotton, programme.Blend, programme.Polyester}, "",
			func(f *F) *programme.Fibre { return &f.Fibre }),
		number("median_washes", "", 0.1, 10000, 0, func(f *F) *float64 { return &f.Median }),
		number("shape", "", 0.1, 20, 0, func(f *F) *float64 { return &f.Shape }),
		number("wears_per_wash", "", 0.1, 100, 0, func(f *F) *float64 { return &f.WearsPerWash }),
		text("why", "", func(f *F) *string { return &f.Why }),
	}
}

func regimeFields() []field[programme.Regime] {
	type R = programme.Regime
	return []field[R]{
		code("code", "", func(x *R) *string { return &x.Code }).needed(),
		text("name", "", func(x *R) *string { return &x.Name }),
		number("cotton", "", 0.01, 10, 0, func(x *R) *float64 { return &x.Cotton }),
		number("blend", "", 0.01, 10, 0, func(x *R) *float64 { return &x.Blend }),
		number("polyester", "", 0.01, 10, 0, func(x *R) *float64 { return &x.Polyester }),
		word("column", "which multiplier prints take", []string{"home", "home-hot", "on-premises", "industrial"}, "",
			func(x *R) *string { return &x.Column }),
	}
}

func decorationFields() []field[programme.DecorationBaseline] {
	type D = programme.DecorationBaseline
	return []field[D]{
		code("code", "", func(x *D) *string { return &x.Code }).needed(),
		text("name", "", func(x *D) *string { return &x.Name }),
		number("median_washes", "0 = outlasts the garment", 0, 10000, -1, func(x *D) *float64 { return &x.Median }),
		number("shape", "", 0, 20, -1, func(x *D) *float64 { return &x.Shape }),
		number("home_hot", "", 0.01, 10, 0, func(x *D) *float64 { return &x.HomeHot }),
		number("on_premises", "", 0.01, 10, 0, func(x *D) *float64 { return &x.OnPremises }),
		number("industrial", "", 0.01, 10, 0, func(x *D) *float64 { return &x.Industrial }),
		yesNo("polyester_only", "", func(x *D) *bool { return &x.PolyesterOnly }),
	}
}

// overrides is a list whose entries change those of the same code.
func overrides[T, E any](key, help string, table []field[E], shipped []E, codeOf func(*E) string,
	at func(*T) *[]E) field[T] {
	return field[T]{
		key: key, help: help,
		read: func(r *reader, n *yaml.Node, path string, into *T) {
			if n.Kind != yaml.SequenceNode {
				r.wrong(n, path, "read %s; write a list, each entry with - in front", describe(n))
				return
			}
			for i, item := range n.Content {
				override(r, item, fmt.Sprintf("%s[%d]", path, i+1), table, codeOf, at(into))
			}
		},
		write: func(from *T, all bool) *yaml.Node {
			n := &yaml.Node{Kind: yaml.SequenceNode}
			for i := range *at(from) {
				e := &(*at(from))[i]
				if j := indexOf(shipped, codeOf(e), codeOf); j >= 0 && reflect.DeepEqual(shipped[j], *e) {
					continue
				}
				n.Content = append(n.Content, encode(table, e, all))
			}
			if len(n.Content) == 0 {
				return nil
			}
			return n
		},
	}
}

func override[E any](r *reader, n *yaml.Node, path string, table []field[E], codeOf func(*E) string, entries *[]E) {
	var named E
	probe := &reader{file: r.file}
	mapping(probe, n, path, table, &named)
	i := indexOf(*entries, codeOf(&named), codeOf)
	if i < 0 {
		r.problems = append(r.problems, probe.problems...)
		*entries = append(*entries, named)
		return
	}
	changed := (*entries)[i]
	mapping(r, n, path, table, &changed)
	(*entries)[i] = changed
}

func indexOf[E any](list []E, code string, codeOf func(*E) string) int {
	for i := range list {
		if codeOf(&list[i]) == code {
			return i
		}
	}
	return -1
}
