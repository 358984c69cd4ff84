package wear

import (
	"cmp"
	"math"
	"slices"

	"github.com/kitmuster/kitmuster/programme"
)

// Report says what was learnt about a class, for people: "baseline 45 washes;
// your 62 endings say 38 (34 to 42)", and which cause ends pieces first.
type Report struct {
	Class    Class    `json:"class"`
	Name     string   `json:"name"`
	Evidence Evidence `json:"evidence"`
	// Pace is washes a week of one piece, to turn washes into months.
	Pace float64 `json:"washes_a_week"`
	// Piece is the life until the first cause, Causes each cause by itself,
	// cloth first.
	Piece  Span          `json:"piece"`
	Causes []CauseReport `json:"causes"`
	// MishapPerYear is the rate of loss and damage per piece, in per cent of pieces.
	MishapPerYear Estimate `json:"mishap_per_year"`
	// Former weighs washes of the ways in which pieces were washed before.
	Former []FormerWash `json:"former_washes,omitempty"`
	// First is the chance that each cause ends a new piece.
	First programme.Endings[float64] `json:"first"`
	// Picture is the survival of pieces from new, all causes together.
	Picture Picture `json:"picture"`
}

// Estimate is a figure with the span in which it lies with chance 80 %.
type Estimate struct {
	Median float64 `json:"median"`
	Low    float64 `json:"low"`
	High   float64 `json:"high"`
}

func (e Estimate) times(x float64) Estimate {
	return Estimate{e.Median * x, e.Low * x, e.High * x}
}

// Span is a median life in washes and in months at the class's pace.
type Span struct {
	// Baseline is the catalogue's median under this laundering and duty, Before
	// what the shop believed before this client's records, both in washes.
	Baseline float64  `json:"baseline_washes"`
	Before   float64  `json:"before_washes"`
	Washes   Estimate `json:"washes"`
	Months   Estimate `json:"months"`
}

// CauseReport is one cause by itself.
type CauseReport struct {
	// Cause is CauseWorn or CausePrint, Code the fabric class or decoration.
	Cause programme.Cause `json:"cause"`
	Code  string          `json:"code"`
	Span
	// Steps are the records for this cause alone, other endings taken as
	// "lasted until then"; unexplained endings are left out of its steps.
	Steps []Step `json:"steps"`
}

// Picture is a survival curve of the records beside those believed before and after.
type Picture struct {
	Steps  []Step  `json:"steps"`
	Before []Point `json:"before"`
	After  []Point `json:"after"`
}

// Point is the share of pieces still presentable after some washes, with an
// 80 % band of what is not known.
type Point struct {
	Washes   float64 `json:"washes"`
	Survival float64 `json:"survival"`
	Lower    float64 `json:"lower"`
	Upper    float64 `json:"upper"`
}

const weeksPerMonth = daysPerYear / 12 / 7

// Report tells what was learnt for pieces washed pace times a week (above 0).
func (k *Learnt) Report(pace float64) Report {
	before := k.before()
	r := Report{Class: k.Terms.Class, Name: k.Terms.Class.String(), Evidence: k.Evidence, Pace: pace,
		Former: k.Terms.Former}
	after, earlier := k.whole(pace), before.whole(pace)
	r.Piece = k.span(after, earlier, pace)
	r.Causes = append(r.Causes, k.cause(programme.CauseWorn, 0, before.Cloth, k.Cloth, pace))
	for i, p := range k.Prints {
		r.Causes = append(r.Causes, k.cause(programme.CausePrint, i+1, before.Prints[i], p, pace))
	}
	m := k.Mishap
	r.MishapPerYear = Estimate{m.Quantile(0.5), m.Quantile(0.1), m.Quantile(0.9)}
	r.First = k.first(pace)
	r.Picture = Picture{Steps: KaplanMeier(k.anyCause())}
	top := 1.0
	for _, s := range r.Picture.Steps {
		top = max(top, s.Washes)
	}
	top = max(top, 1.8*r.Piece.Washes.High, 1.5*r.Piece.Before)
	r.Picture.Before, r.Picture.After = earlier.curve(top), after.curve(top)
	return r
}

// Life returns after how many washes half of whole pieces are gone, washed pace times a week (above 0): what
// Report says of them, and no more.
func (k *Learnt) Life(pace float64) Estimate { return k.whole(pace).median() }

func (k *Learnt) span(after, before mixture, pace float64) Span {
	s := Span{Baseline: k.Terms.BaselineLife(pace), Before: before.median().Median, Washes: after.median()}
	s.Months = s.Washes.times(1 / pace / weeksPerMonth)
	return s
}

// before returns what was believed without this client's records.
func (k *Learnt) before() *Learnt {
	out := &Learnt{Terms: k.Terms, Mishap: k.Terms.Mishap, Cloth: newLearner(k.Terms.Cloth.Prior, nil).posterior()}
	for _, p := range k.Terms.Prints {
		out.Prints = append(out.Prints, newLearner(p.Prior, nil).posterior())
	}
	return out
}

func (k *Learnt) cause(name programme.Cause, c int, before, after Posterior, pace float64) CauseReport {
	s := k.Terms.sources()[c]
	w := Estimate{after.MedianQuantile(0.5), after.MedianQuantile(0.1), after.MedianQuantile(0.9)}
	return CauseReport{
		Cause: name, Code: s.Code,
		Span: Span{Baseline: s.Baseline.Median(), Before: before.MedianQuantile(0.5), Washes: w,
			Months: w.times(1 / pace / weeksPerMonth)},
		Steps: KaplanMeier(k.alone(c)),
	}
}

// anyCause states all endings that need replacing as one cause. An ending that
// nobody saw is spread over its interval by its chances, given what was learnt,
// since the middle of a long gap between two counts would draw a false step.
func (k *Learnt) anyCause() []Observation {
	var out []Observation
	risks := k.risks()
	for i := range k.lives {
		l := &k.lives[i]
		o := Observation{Entry: l.entry, Exit: l.from, Count: l.count}
		switch {
		case !l.ended || !k.Evidence.needsReplacing(l) || l.to <= 0:
			out = append(out, o)
		case l.to > l.from && l.pace > 0:
			out = append(out, k.spread(o, l, risks)...)
		default:
			o.Kind = Exact
			out = append(out, o)
		}
	}
	return out
}

// spread divides an unseen ending over tenths of its interval.
func (k *Learnt) spread(o Observation, l *life, risks []risk) []Observation {
	const parts = 10
	whole := lifetime{risks: risks, mishap: k.Mishap.Mean() / daysPerYear / l.pace}
	start, step := whole.hazard(l.from), (l.to-l.from)/parts
	ended := -math.Expm1(start - whole.hazard(l.to))
	var out []Observation
	for i := range parts {
		from := l.from + float64(i)*step
		mass := (math.Exp(start-whole.hazard(from)) - math.Exp(start-whole.hazard(from+step))) / ended
		if mass > 1e-6 {
			out = append(out, Observation{Kind: Exact, Entry: o.Entry, Exit: from + step/2, Count: o.Count * mass})
		}
	}
	return out
}

func (Evidence) needsReplacing(l *life) bool {
	var s sums
	s.add(l)
	return s.Sum()+s.unexplained > 0
}

// alone states the endings known to be of one cause.
func (k *Learnt) alone(c int) []Observation {
	var out []Observation
	risks := k.risks()
	for _, o := range k.observationsGiven(nil, c, risks, k.silences(nil, risks)) {
		lasted := Observation{Entry: o.Entry, Exit: o.Exit, Count: o.Lives * o.Count}
		if o.Other == 0 && o.Kind != Right { // of several prints one ended
			o.Lives, lasted.Count = 1, (o.Lives-1)*o.Count
			out = append(out, o)
		}
		if lasted.Count > 0 {
			out = append(out, lasted)
		}
	}
	return out
}

// lifetime is one set of parameters of how long a whole piece lasts.
type lifetime struct {
	weight float64
	risks  []risk
	mishap float64 // per wash
}

func (w *lifetime) hazard(x float64) float64 {
	h := w.mishap * x
	for _, l := range w.risks {
		h += l.cumulative(0, x)
	}
	return h
}

// mixture holds the lifetimes that may be true of whole pieces; their weights sum to 1.
type mixture []lifetime

// Orders of the rules for what is shown to people.
const shownShapes, shownRates = 2, 5

func (k *Learnt) whole(pace float64) mixture {
	out := mixture{{weight: 1}}
	add := func(p Posterior, number float64) {
		var next mixture
		for _, w := range out {
			for _, q := range p.Parameters(shownShapes, shownRates) {
				next = append(next, lifetime{weight: w.weight * q.Weight,
					risks: append(slices.Clone(w.risks), risk{q.Weibull, number})})
			}
		}
		out = next
	}
	add(k.Cloth, 1)
	for i, p := range k.Prints {
		add(p, float64(k.Terms.Prints[i].Number))
	}
	var all mixture
	for _, m := range k.Mishap.Nodes(2) {
		for _, w := range out {
			all = append(all, lifetime{w.weight * m.Weight, w.risks, m.At / daysPerYear * 7 / pace})
		}
	}
	return all
}

// median returns the median life of a new piece with its span over the distributions.
func (m mixture) median() Estimate {
	lives := make([]weighted, len(m))
	for i := range m {
		lives[i] = weighted{m[i].medianLife(), m[i].weight}
	}
	return Estimate{quantileOf(lives, 0.5), quantileOf(lives, 0.1), quantileOf(lives, 0.9)}
}

func (w *lifetime) medianLife() float64 {
	lo, hi := 0.0, 1.0
	for w.hazard(hi) < math.Ln2 && hi < 1e6 {
		hi *= 2
	}
	lo, hi = Bisect(lo, hi, 50, func(x float64) bool { return w.hazard(x) < math.Ln2 })
	return (lo + hi) / 2
}

// MedianLife returns the washes that half of new pieces outlast, all causes
// together, for pieces washed pace times a week, at the centre of what is known.
func (k *Learnt) MedianLife(pace float64) float64 {
	w := lifetime{risks: k.risks(), mishap: k.Mishap.Mean() / daysPerYear * 7 / pace}
	return w.medianLife()
}

// curvePoints is the number of points of a drawn curve.
const curvePoints = 80

func (m mixture) curve(top float64) []Point {
	out := make([]Point, 0, curvePoints+1)
	at := make([]weighted, len(m))
	for i := 0; i <= curvePoints; i++ {
		p := Point{Washes: top * float64(i) / curvePoints}
		for j := range m {
			s := math.Exp(-m[j].hazard(p.Washes))
			at[j] = weighted{s, m[j].weight}
			p.Survival += m[j].weight * s
		}
		p.Lower, p.Upper = quantileOf(at, 0.1), quantileOf(at, 0.9)
		out = append(out, p)
	}
	return out
}

type weighted struct{ at, weight float64 }

// quantileOf reads a quantile of a discrete distribution by straight lines between the
// middles of its steps.
func quantileOf(risk []weighted, q float64) float64 {
	slices.SortFunc(risk, func(a, b weighted) int { return cmp.Compare(a.at, b.at) })
	sum, lastMid, last := 0.0, 0.0, risk[0].at
	for _, w := range risk {
		mid := sum + w.weight/2
		if mid >= q {
			if mid == lastMid {
				return w.at
			}
			return last + (q-lastMid)/(mid-lastMid)*(w.at-last)
		}
		sum, lastMid, last = sum+w.weight, mid, w.at
	}
	return last
}

// BaselineLife returns the median life of a whole new piece by the catalogue alone, in
// washes, for pieces washed pace times a week.
func (t *Terms) BaselineLife(pace float64) float64 {
	w := lifetime{risks: t.baselineRisks(), mishap: t.Mishap.Mean() / daysPerYear * 7 / pace}
	return w.medianLife()
}

// baselineRisks are cloth and prints as the catalogue has them.
func (t *Terms) baselineRisks() []risk {
	out := []risk{{t.Cloth.Baseline, 1}}
	for _, p := range t.Prints {
		out = append(out, risk{p.Baseline, float64(p.Number)})
	}
	return out
}

// first follows a new piece until hardly any is left.
func (k *Learnt) first(pace float64) programme.Endings[float64] {
	var f programme.Endings[float64]
	for _, w := range k.whole(pace) {
		step, alive := w.medianLife()/60, 1.0
		for i := 0; alive > 1e-6 && i < 6000; i++ {
			from, to := float64(i)*step, float64(i+1)*step
			worn := w.risks[0].cumulative(from, to)
			print := 0.0
			for _, l := range w.risks[1:] {
				print += l.cumulative(from, to)
			}
			mishap := w.mishap * step
			all := worn + print + mishap
			ended := alive * -math.Expm1(-all)
			f.Worn += w.weight * ended * worn / all
			f.Print += w.weight * ended * print / all
			f.Mishap += w.weight * ended * mishap / all
			alive -= ended
		}
	}
	return f
}
