package programme

// Fibre says which column of the laundering table a fabric takes.
type Fibre string

// Fibres of the laundering table.
const (
	Cotton    Fibre = "cotton"
	Blend     Fibre = "blend"
	Polyester Fibre = "polyester"
)

// FabricBaseline is the shipped wear life of a fabric class at the base
// regime (home cold or warm wash, low tumble) and medium duty.
type FabricBaseline struct {
	Code   string
	Name   string
	Fibre  Fibre
	Median float64 // washes
	Shape  float64 // Weibull
	// WearsPerWash is the usual number of wears of such a garment between two washes.
	WearsPerWash float64
	Why          string
}

// Regime is one way of washing with its multipliers of life.
type Regime struct {
	Code                     string
	Name                     string
	Cotton, Blend, Polyester float64
	// Column picks the decoration multiplier: home, home-hot, on-premises, industrial.
	Column string
}

// DecorationBaseline is the shipped life of a transfer at home cold wash.
type DecorationBaseline struct {
	Code          string
	Name          string
	Median        float64 // washes; 0 = outlasts the garment
	Shape         float64
	HomeHot       float64
	OnPremises    float64
	Industrial    float64
	PolyesterOnly bool
}

// Baselines are the wear figures a shop may overwrite entry by entry.
type Baselines struct {
	Fabrics     []FabricBaseline
	Regimes     []Regime
	Decorations []DecorationBaseline
	// Duty multipliers of fabric life.
	Light, Medium, Heavy, Dirty, StrongSun float64
	// Chlorine multiplies fabric life by fibre, once more than the regime.
	ChlorineCotton, ChlorineBlend, ChlorinePolyester float64
	// Decoration extras.
	DecorationChlorine, Softener, NoPrePress float64
	// Mishaps (lost, torn, stained past use) per piece and year.
	MishapPerYear, MishapPerYearFood float64
	// PriorEndings is the strength of every prior in pseudo-endings.
	PriorEndings float64
	// LeaversPerYear is the prior separations rate per head and year, and its weight in person-years.
	LeaversPerYear, LeaversPersonYears float64
	// SizePriorPeople is the weight of the size-mix prior in people, before a roster shows how far it holds there.
	SizePriorPeople float64
}

// Fabric returns the figures of a fabric class.
func (b *Baselines) Fabric(class string) (*FabricBaseline, bool) {
	return find(b.Fabrics, func(f *FabricBaseline) bool { return f.Code == class })
}

// Decoration returns the figures of a kind of decoration.
func (b *Baselines) Decoration(code string) (*DecorationBaseline, bool) {
	return find(b.Decorations, func(d *DecorationBaseline) bool { return d.Code == code })
}

// DefaultBaselines returns the shipped figures. All are common practice, no
// source, except where Why names one; a shop's own records overrule them.
func DefaultBaselines() Baselines {
	return Baselines{
		Fabrics: []FabricBaseline{
			{"cotton-tee-carded", "Cotton tee, carded", Cotton, 40, 2.5, 1,
				"lower part of the 35 to 50 washes quoted for shirts, for daily work"},
			{"cotton-tee-ringspun", "Cotton tee, ring-spun or combed", Cotton, 45, 2.5, 1, "stronger, less hairy yarn"},
			{"light-tee", "Light fashion or tri-blend tee", Blend, 35, 2.2, 1, "thin; varies more"},
			{"blend-tee", "Polyester/cotton tee", Blend, 55, 2.8, 1, "the blend outlasts cotton"},
			{"cotton-polo", "Cotton pique polo", Cotton, 50, 2.5, 1, "top of the 35 to 50 washes quoted for shirts"},
			{"blend-polo", "Polyester/cotton polo", Blend, 65, 2.8, 1, "as the tee, heavier knit"},
			{"performance-polyester", "Performance polyester tee or polo", Polyester, 75, 2.8, 1,
				"strong; ends by snag, pilling, odour"},
			{"blend-work-shirt", "Polyester/cotton woven work shirt", Blend, 90, 3.0, 1,
				"cautious against the 50 industrial washes rental work clothing is built for"},
			{"cotton-woven", "Cotton woven shirt or denim", Cotton, 65, 2.8, 1, "between"},
			{"fleece", "Fleece or hooded sweatshirt", Blend, 60, 2.5, 3, "pilling and cuffs"},
			{"outer-shell", "Outer shell", Polyester, 50, 2.2, 8, "often ends by its zip"},
			{"apron-twill", "Apron, polyester/cotton twill", Blend, 80, 2.0, 1, "the cloth lasts, stains end it"},
			{"cap", "Cap", Cotton, 20, 2.0, 12, "sweat and shape; about a year of daily wear, or 20 spot washes"},
			{"high-visibility", "High-visibility garment", Polyester, 25, 4.0, 1,
				"25 washes where the label is silent; the label's own limit is a hard stop"},
		},
		Regimes: []Regime{
			{"home-cold-line", "Home, cold, line dried", 1.25, 1.2, 1.1, "home"},
			{"home-low", "Home, cold or warm, tumbled low", 1, 1, 1, "home"},
			{"home-hot", "Home, hot, tumbled hot", 0.8, 0.85, 0.85, "home-hot"},
			{"on-premises", "On the premises, 60 to 65 °C, commercial dryer", 0.7, 0.75, 0.7, "on-premises"},
			{"industrial", "Industrial laundry, 75 to 85 °C, tunnel", 0.5, 0.65, 0.55, "industrial"},
		},
		Decorations: []DecorationBaseline{
			{"plastisol", "Screen-printed plastisol transfer", 55, 3.0, 0.8, 0.7, 0.45, false},
			{"direct-to-film", "Direct-to-film transfer", 45, 2.5, 0.75, 0.65, 0.35, false},
			{"cut-vinyl", "Cut vinyl, polyurethane", 50, 2.5, 0.75, 0.65, 0.35, false},
			{"print-and-cut", "Print-and-cut film", 35, 2.2, 0.7, 0.6, 0.3, false},
			{"effect-film", "Glitter, foil, puff or reflective film", 25, 2.2, 0.7, 0.6, 0.3, false},
			{"sublimation", "Sublimation", 0, 0, 1, 1, 0.9, true},
			{"emblem", "Heat-sealed emblem", 40, 2.2, 0.75, 0.6, 0.4, false},
		},
		Light: 1.15, Medium: 1, Heavy: 0.65, Dirty: 0.6, StrongSun: 0.85,
		ChlorineCotton: 0.5, ChlorineBlend: 0.7, ChlorinePolyester: 0.85,
		DecorationChlorine: 0.7, Softener: 0.9, NoPrePress: 0.8,
		MishapPerYear: 0.12, MishapPerYearFood: 0.18,
		PriorEndings:   10,
		LeaversPerYear: 0.45, LeaversPersonYears: 10,
		SizePriorPeople: 20,
	}
}

// DefaultSizeMix returns the built-in mix of tops: men and women 60/40, 40 % of
// them a size up for ease at work (ANSUR II chest measures shifted to US adult
// BMI; the split and the sizing up are assumptions), worth a prior only.
func DefaultSizeMix() []SizeShare {
	return []SizeShare{{"XS", 4.5}, {"S", 13.5}, {"M", 23.7}, {"L", 26.3}, {"XL", 18.7}, {"2XL", 9.0}, {"3XL", 3.2},
		{"4XL", 1.2}}
}
