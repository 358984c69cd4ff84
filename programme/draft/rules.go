package draft

import (
	"slices"

	"github.com/kitmuster/kitmuster/programme"
)

// item is one thing of a kit: fabric classes that will do, how many, how often
// worn, and where it is printed.
type item struct {
	what    string // in words
	classes []string
	why     string
	each    int
	wears   float64
	marks   []mark
	// families limits a class to a part of the body where a fabric serves several.
	families []string
	// protective is set for garments that protect; they are held for a person's yes.
	protective programme.Protective
}

// mark is a print at one place, whatever that place is called on the garment.
type mark struct {
	place  string
	suffix string // of the artwork's code
	wide   programme.Length
	high   programme.Length
	also   []string // other names of the place
}

const quarterInch = programme.Inch / 4

// Sizes of art follow the usual ranges of the trade: chest 3 to 4 in wide, cap
// fronts at most 2.25 in tall, bibs 6 to 8 in, backs 10 to 13 in wide.
var (
	chestMark = mark{place: "left-chest", suffix: "chest", wide: 14 * quarterInch, high: 12 * quarterInch}
	capMark   = mark{place: "cap-front", suffix: "cap", wide: 16 * quarterInch, high: 8 * quarterInch,
		also: []string{"front"}}
	bibMark = mark{place: "bib", suffix: "bib", wide: 28 * quarterInch, high: 16 * quarterInch,
		also: []string{"apron-bib", "left-chest"}}
)

// items returns the things a role of this business is issued.
func (in *Intake) items(r Role) []item {
	all := []item{in.top(r)}
	if r.Indoors {
		return all
	}
	if in.Trade == Garage || in.Trade == Building || in.Trade == Grounds || in.Trade == Delivery ||
		in.Trade == Workshop {
		all = append(all, in.trousers(r))
	}
	if in.Work.Food || in.Trade == Food {
		all = append(all, item{
			what: "apron", classes: []string{"apron-twill"},
			why:  "takes the stains, so that the top lasts; food staff need clean outer clothing (FDA Food Code 2-304.11, wording from memory), so one a day",
			each: in.sets(r), wears: in.days(r), marks: []mark{bibMark},
		}, in.cap(r, "keeps hair in, where food is handled"))
	} else if in.Work.Setting == programme.Outdoor {
		all = append(all, in.cap(r, "sun and rain, and the mark seen from the front"))
	}
	if in.ColdOrWet {
		all = append(all,
			item{what: "warm layer", classes: []string{"fleece"},
				why: "cold mornings; washed every third wear, so two will do", each: 2, wears: in.days(r) * 0.6,
				marks: []mark{chestMark}},
			item{what: "outer shell", classes: []string{"outer-shell"},
				why: "wet weather; lasts for years unless its zip goes", each: 1, wears: in.days(r) * 0.4,
				marks: []mark{chestMark}})
	}
	if in.Traffic || slices.Contains(in.Protective, programme.HighVisibility) {
		all = append(all, item{
			what: "high-visibility vest", classes: []string{"high-visibility"}, protective: programme.HighVisibility,
			why: "people work beside moving vehicles; ordered only with a person's yes", each: 2, wears: in.days(r),
		})
	}
	return all
}

// trousers are of a blend, which wears longest at knees and pockets, but near flames of cotton alone: where the
// catalogue has none, the draft says so and leaves them to the owner.
func (in *Intake) trousers(r Role) item {
	t := item{
		what: "work trousers", classes: []string{"blend-work-shirt", "cotton-woven"}, families: []string{"bottom"},
		why: "knees and pockets wear first in this trade; left without print", each: in.sets(r), wears: in.days(r),
	}
	if in.Flames {
		t.classes = []string{"cotton-woven"}
		t.why = "near flame or hot fat polyester can melt onto skin, so cotton; left without print"
	}
	return t
}

func (in *Intake) cap(r Role, why string) item {
	return item{what: "cap", classes: []string{"cap"}, why: why, each: 2, wears: in.days(r), marks: []mark{capMark},
		families: []string{"head", "one", "cap"}}
}

// top picks the fabric classes of the shirt by washing first (nothing else
// ends cloth so fast), then by danger, heat, dirt, and who looks at it.
func (in *Intake) top(r Role) item {
	t := item{what: "top", each: in.sets(r), wears: in.days(r), marks: in.topMarks(r), families: []string{"top"}}
	seen := in.Seen && !r.BackRoom
	hard := in.Laundering.Regime == "industrial" || in.Laundering.Chlorine
	switch {
	case in.Flames:
		t.classes, t.why = []string{"cotton-tee-ringspun", "cotton-polo", "cotton-woven", "cotton-tee-carded"},
			"near flame or hot fat polyester can melt onto skin, so cotton"
	case hard:
		t.classes, t.why = []string{"blend-work-shirt", "blend-polo", "blend-tee"},
			"hard washing eats cotton first: blends keep about two thirds of their life in an industrial tunnel, cotton half"
	case in.Work.Duty == programme.Dirty && !r.Indoors:
		t.classes, t.why = []string{"blend-work-shirt", "blend-tee", "blend-polo"},
			"stains and grit end it before its looks do: tough blend, nothing dear"
	case in.Work.Setting == programme.Outdoor && !r.Indoors:
		t.classes, t.why = []string{"performance-polyester", "blend-tee", "blend-polo"},
			"dries fast and holds its colour outdoors"
	case seen && (in.Work.Duty == programme.Light || r.Indoors):
		t.classes, t.why = []string{"cotton-woven", "blend-polo", "cotton-polo", "performance-polyester"},
			"customers see it and the work is light: a collar"
	case seen:
		t.classes, t.why = []string{"blend-polo", "cotton-polo", "performance-polyester"},
			"customers see it: a collar, in a cloth that keeps its shape"
	default:
		t.classes, t.why = []string{"blend-tee", "cotton-tee-ringspun", "cotton-tee-carded"},
			"nobody but colleagues sees it: a tee does"
	}
	return t
}

// days returns the wears a week of one person.
func (in *Intake) days(r Role) float64 {
	d := in.Work.DaysPerWeek
	if d <= 0 {
		d = 5
	}
	if r.PartTime {
		return min(d, 3)
	}
	return d
}

// sets returns how many a person needs: one a day with a weekly home wash, three
// for part-time staff (common practice); with a weekly exchange at an
// industrial laundry 2 x days + 1 (uniform-rental explainer pages).
func (in *Intake) sets(r Role) int {
	days := int(in.days(r) + 0.5)
	switch {
	case in.Laundering.Regime == "industrial":
		return 2*days + 1
	case r.PartTime:
		return 3
	default:
		return max(2, days)
	}
}

// topMarks returns the prints of the top: the mark alone at a fixed place, where
// the place itself says who one is dealing with; a mobile crew is its own sign.
func (in *Intake) topMarks(r Role) []mark {
	marks := []mark{chestMark}
	if in.Work.Place == programme.Mobile && !r.BackRoom && !r.Indoors {
		marks = append(marks, in.backMark())
	}
	return marks
}
