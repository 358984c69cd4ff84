package demand

import (
	"iter"
	"math"
	"slices"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/exponent"
	"github.com/kitmuster/kitmuster/programme/wear"
)

const (
	daysPerYear  = 365.2425
	weeksPerYear = daysPerYear / 7
	// rosterDays is the number of days before today whose joiners and leavers teach rates: three years.
	rosterDays = 1096
)

// Staffing holds the rates of joining and leaving at one client, as far as they are known.
type Staffing struct {
	// Leaving is the rate of separations per head and year.
	Leaving wear.Gamma
	// LeavingEarly is the same rate for people in their first EarlyDays.
	LeavingEarly wear.Gamma
	// Joining is the number of hires per year of the whole client, in a month of factor 1.
	Joining wear.Gamma
	// Resizing is the number of changes of size per head, family of sizes and year; nothing = nobody changes.
	Resizing wear.Gamma
	// JoinTogether and LeaveTogether are the groups in which people come and go on one day.
	JoinTogether, LeaveTogether Groups
	// RoleShare is each role's share of hires, by role code; shares sum to 1. A role of
	// which people wear several cuts has a code for each.
	RoleShare map[string]float64
	// Months are the busy-month factors, mean 1 over the year.
	Months wear.Season
	// Sizes is, by size family, the weight of each size in people.
	Sizes map[string][]programme.SizeShare
	// RoleSizes holds, by role code, Sizes of the starters of that role.
	RoleSizes map[string]map[string][]programme.SizeShare
	// sizesKnown takes the size mix as certain.
	sizesKnown bool
}

// LearnStaffing learns rates of joining and leaving from the roster (events
// over exposure, on top of what the programme states or the industry's usual
// rate) and the size mix (people on top of the shop's mix). The roster teaches
// from the start of records, at most three years back.
func LearnStaffing(shop *programme.Shop, client *programme.Client, staff []programme.Person,
	asOf programme.Date) Staffing {
	s := Staffing{Months: wear.NewSeason(client.Intake.Months), sizesKnown: client.Known}
	past := observe(client, staff, asOf, s.Months)
	left := newFlow(past.left, past.days, leaving(shop, client), past.personYears)
	s.Leaving, _ = left.given(1)
	joined := newFlow(past.joined, past.days, joining(client, past.heads*s.Leaving.Mean()), past.seasons)
	s.Joining, _ = joined.given(1)
	if !client.Known && past.days > 0 {
		j, l := joined.sizings(), left.sizings()
		s.JoinTogether, s.Joining = j.learn(&l)
		s.LeaveTogether, s.Leaving = l.learn(&j)
	}
	// People in groups tell less of a rate than as many who come one by one.
	together := s.LeaveTogether.Size()
	s.LeavingEarly = leavingEarly(client, s.Leaving).Learn(past.leftEarly/together, past.earlyYears/together)
	if !client.Known {
		s.Resizing = learnResizing(shop, client, staff, past.personYears)
	}
	worn := outfitsOf(shop, client, staff)
	s.RoleShare = roleShares(client, worn, staff, asOf)
	s.Sizes = sizeMixes(shop, client, staff)
	s.RoleSizes = roleSizes(shop, client, worn, staff, s.Sizes)
	return s
}

// EarlyDays is the number of days for which somebody counts as new; more of the new leave than of others. Four
// months.
const EarlyDays = 122

// earlyWeight is the weight of the belief that those who are new leave as others do,
// in person-years: little, since it is known to be too low nearly everywhere.
const earlyWeight = 2

func leavingEarly(client *programme.Client, leaving wear.Gamma) wear.Gamma {
	if client.Known {
		return leaving
	}
	return wear.Gamma{Count: earlyWeight * leaving.Mean(), Exposure: earlyWeight}
}

// Stays returns the chance that somebody who started on start, and is there on from, is still there on to. The
// early rate of leaving and the later one are learnt apart.
func (s *Staffing) Stays(start, from, to programme.Date) float64 {
	early := min(max(start.Add(EarlyDays).Sub(from), 0), max(to.Sub(from), 0))
	late := max(to.Sub(from), 0) - early
	return s.LeavingEarly.Survival(float64(early)/daysPerYear) * s.Leaving.Survival(float64(late)/daysPerYear)
}

// stopping is the rate at which somebody who may change size needs no more of what they
// hold: they leave, or change. One Gamma stands for the sum of the two rates: of the same mean and variance.
func (s *Staffing) stopping() wear.Gamma {
	if s.Resizing.Exposure <= 0 {
		return s.Leaving
	}
	leaving, resizing := s.Leaving.Mean(), s.Resizing.Mean()
	mean, variance := leaving+resizing, leaving/s.Leaving.Exposure+resizing/s.Resizing.Exposure
	return wear.Gamma{Count: mean * mean / variance, Exposure: mean / variance}
}

// rosterPast counts what the roster shows since records begin.
type rosterPast struct {
	personYears, seasons, heads float64
	leftEarly, earlyYears       float64                // of people in their first EarlyDays
	joined, left                map[programme.Date]int // by day
	days                        float64
}

func observe(client *programme.Client, staff []programme.Person, asOf programme.Date, months wear.Season) rosterPast {
	p := rosterPast{joined: map[programme.Date]int{}, left: map[programme.Date]int{}}
	start := max(client.RecordsStart, asOf.Add(-rosterDays))
	for i := range staff {
		if staff[i].ActiveOn(asOf) {
			p.heads++
		}
	}
	if client.RecordsStart.IsZero() || start >= asOf {
		return p
	}
	for i := range staff {
		w := &staff[i]
		from, to := max(w.Start, start), asOf
		if !w.End.IsZero() && w.End < asOf {
			to = w.End
			if w.End >= start {
				p.left[w.End]++
				if w.End < w.Start.Add(EarlyDays) {
					p.leftEarly++
				}
			}
		}
		p.personYears += max(0, float64(to-from)) / daysPerYear
		p.earlyYears += max(0, float64(min(to, w.Start.Add(EarlyDays))-from)) / daysPerYear
		if w.Start > start && w.Start <= asOf {
			p.joined[w.Start]++
		}
	}
	p.seasons, p.days = seasons(months, start, asOf), float64(asOf-start)
	return p
}

// seasons returns the busy-month factors summed over the days after from up to to, in years.
func seasons(months wear.Season, from, to programme.Date) float64 {
	return months.Days(from, to) / daysPerYear
}

func leaving(shop *programme.Shop, client *programme.Client) wear.Gamma {
	l := client.Leavers
	if client.Known {
		return wear.Certain(max(l.PerYear, 1e-12))
	}
	rate, strength := l.PerYear, l.Strength
	if strength <= 0 {
		strength = max(shop.Baselines.LeaversPersonYears, 1)
	}
	switch {
	case l.Nobody:
		return nobodyIn(strength)
	case rate <= 0:
		rate = max(shop.Baselines.LeaversPerYear, 0.01)
	}
	return wear.Gamma{Count: rate * strength, Exposure: strength}
}

// nobodyIn returns what an exposure without one event teaches of a rate, with the
// prior of Jeffreys (Gamma(1/2, 0)).
func nobodyIn(exposure float64) wear.Gamma { return wear.Gamma{Count: 0.5, Exposure: exposure} }

// joining states hires a year; without a statement it is believed, weakly,
// that leavers are replaced.
func joining(client *programme.Client, replaced float64) wear.Gamma {
	in := client.Intake
	rate, strength := in.PerYear, in.Strength
	if len(in.PerRole) > 0 {
		rate = 0
		for _, r := range client.Roles {
			rate += in.PerRole[r.Code]
		}
	}
	switch {
	case client.Known:
		return wear.Certain(max(rate, 1e-12))
	case in.Nobody || rate <= 0 && len(in.PerRole) > 0:
		return nobodyIn(max(strength, 1))
	case rate <= 0:
		return wear.Gamma{Count: 1, Exposure: 1 / max(replaced, 0.1)}
	case strength <= 0:
		strength = 1
	}
	return wear.Gamma{Count: rate * strength, Exposure: strength}
}

// roleShares returns the stated shares of roles, else the shares of the people there, each
// role with half a head more. Cuts share what is stated of their role as they are worn.
func roleShares(client *programme.Client, worn *outfits, staff []programme.Person,
	asOf programme.Date) map[string]float64 {
	shares := make(map[string]float64, len(worn.roles))
	for _, r := range worn.roles {
		shares[r.Code] = 0.5
	}
	for i := range staff {
		if code := worn.role(&staff[i]); staff[i].ActiveOn(asOf) && shares[code] > 0 && worn.told(&staff[i]) {
			shares[code]++
		}
	}
	if stated := client.Intake.PerRole; len(stated) > 0 {
		heads := map[string]float64{}
		for _, r := range worn.roles {
			heads[worn.of[r.Code]] += shares[r.Code]
		}
		for _, r := range worn.roles {
			of := worn.of[r.Code]
			shares[r.Code] *= stated[of] / heads[of]
		}
	}
	sum := 0.0
	for _, r := range worn.roles {
		sum += shares[r.Code]
	}
	for code := range shares {
		if sum > 0 {
			shares[code] /= sum
		}
	}
	return shares
}

// sizeMixes weighs, per family, the shop's mix as the number of people that it is worth
// and adds the roster's own people, leavers too.
func sizeMixes(shop *programme.Shop, client *programme.Client,
	staff []programme.Person) map[string][]programme.SizeShare {
	out := map[string][]programme.SizeShare{}
	for _, family := range families(shop, client) {
		mix := shop.SizeMix[family]
		if len(mix) == 0 && family == "top" {
			mix = programme.DefaultSizeMix()
		}
		out[family] = mixOf(shop, client, family, mix, staff)
	}
	return out
}

// roleSizes weighs, per role and family, the client's mix without the role's people
// as the number of people that it is worth, and adds the role's own.
func roleSizes(shop *programme.Shop, client *programme.Client, worn *outfits, staff []programme.Person,
	all map[string][]programme.SizeShare) map[string]map[string][]programme.SizeShare {
	out := map[string]map[string][]programme.SizeShare{}
	roles := make([]string, len(staff))
	for i := range staff {
		roles[i] = worn.role(&staff[i])
	}
	for _, r := range worn.roles {
		out[r.Code] = map[string][]programme.SizeShare{}
		for family, mix := range all {
			own := make([]float64, len(mix))
			sum := 0.0
			for i, m := range mix {
				for j := range staff {
					if !client.Known && roles[j] == r.Code && staff[j].Sizes[family] == m.Size {
						own[i]++
					}
				}
				sum += m.Share - own[i]
			}
			others := make([]float64, len(mix))
			for i, m := range mix {
				if sum > 0 {
					others[i] = (m.Share - own[i]) / sum
				}
			}
			people := worth(shop.Baselines.SizePriorPeople, others, own)
			sizes := make([]programme.SizeShare, len(mix))
			for i, m := range mix {
				sizes[i] = programme.SizeShare{Size: m.Size, Share: people*others[i] + own[i]}
			}
			out[r.Code][family] = sizes
		}
	}
	return out
}

func families(shop *programme.Shop, client *programme.Client) []string {
	var out []string
	for k := range allLines(client) {
		if g, ok := shop.Garment(k.Garment); ok && !slices.Contains(out, g.SizeFamily) {
			out = append(out, g.SizeFamily)
		}
	}
	return out
}

func mixOf(shop *programme.Shop, client *programme.Client, family string, mix []programme.SizeShare,
	staff []programme.Person) []programme.SizeShare {
	sizes := sizesOf(shop, client, family)
	out := make([]programme.SizeShare, len(sizes))
	sum := 0.0
	for i, size := range sizes {
		out[i].Size = size
		if at := slices.IndexFunc(mix, func(m programme.SizeShare) bool { return m.Size == size }); at >= 0 {
			out[i].Share = mix[at].Share
		} else if len(mix) == 0 {
			out[i].Share = 1 // nothing is known: all sizes alike
		}
		sum += out[i].Share
	}
	shares, own := make([]float64, len(out)), make([]float64, len(out))
	for i := range out {
		if sum > 0 {
			shares[i] = out[i].Share / sum
		}
		for j := range staff {
			if !client.Known && staff[j].Sizes[family] == out[i].Size {
				own[i]++
			}
		}
	}
	people := worth(shop.Baselines.SizePriorPeople, shares, own)
	for i := range out {
		out[i].Share = people*shares[i] + own[i]
	}
	return out
}

// worths are what a mix of sizes may be worth against the people of one client, or of one
// role, in multiples of what the shop says, each as likely before any are known: from
// people of sizes all their own to people like everybody (common practice, no source).
var worths = [...]float64{0.25, 1, 4, 16}

// worth returns how many people a mix of sizes, of sum 1, is worth against people of each
// size. Sizes of people who are drawn from a mix worth so many are Dirichlet-multinomial
// (Johnson, Kotz and Balakrishnan, Discrete Multivariate Distributions, 1997, 35.13.1), so
// that they tell whether they are of another mix; each size then has the share that is
// expected over all of worths.
func worth(stated float64, mix, people []float64) float64 {
	stated = max(stated, 1)
	n := 0.0
	for i, m := range mix {
		if m > 0 {
			n += people[i]
		}
	}
	if n == 0 {
		return stated
	}
	logGamma := func(x float64) float64 { v, _ := math.Lgamma(x); return v }
	var logL [len(worths)]float64
	top := math.Inf(-1)
	for k, times := range worths {
		w := times * stated
		logL[k] = logGamma(w) - logGamma(w+n)
		for i, m := range mix {
			if m > 0 && people[i] > 0 {
				logL[k] += logGamma(w*m+people[i]) - logGamma(w*m)
			}
		}
		top = max(top, logL[k])
	}
	likelihood, part := 0.0, 0.0 // part of a share that is the mix's
	for k, times := range worths {
		l := exponent.Of(logL[k] - top)
		likelihood += l
		part += l * times * stated / (times*stated + n)
	}
	part /= likelihood
	return n * part / (1 - part)
}

// sizesOf lists the sizes in which this client's garments of a family come, first seen first.
func sizesOf(shop *programme.Shop, client *programme.Client, family string) []string {
	var out []string
	for k := range allLines(client) {
		g, ok := shop.Garment(k.Garment)
		if !ok || g.SizeFamily != family {
			continue
		}
		for _, s := range g.Sizes {
			if !slices.Contains(out, s.Code) {
				out = append(out, s.Code)
			}
		}
	}
	return out
}

// allLines yields the lines of all kits, those whose place others took among them.
func allLines(client *programme.Client) iter.Seq[*programme.KitLine] {
	return func(yield func(*programme.KitLine) bool) {
		for i := range client.Roles {
			for _, lines := range client.Roles[i].Successions() {
				for j := range lines {
					if !yield(&lines[j]) {
						return
					}
				}
			}
		}
	}
}

// season returns the exposure of a number of days after asOf in years of factor 1.
func (s *Staffing) season(asOf programme.Date, days float64) float64 {
	whole := math.Floor(days)
	sum := seasons(s.Months, asOf, asOf.Add(int(whole)))
	if days > whole {
		sum += (days - whole) * seasons(s.Months, asOf.Add(int(whole)), asOf.Add(int(whole)+1))
	}
	return sum
}
