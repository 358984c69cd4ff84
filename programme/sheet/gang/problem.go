// Package gang chooses layouts of artworks and how often to print each.
//
// A layout is a number of copies of each artwork that fit one sheet together;
// it costs a set-up once and a price for each identical copy printed. Every
// artwork's need must be covered; what is printed beyond it may be worth
// something. In the literature: cover printing or job splitting problem
// (Teghem, Pirlot & Antoniadis, J. Comp. Appl. Math. 64, 1995), label printing
// and template design (Proll & Smith, INFORMS J. Computing 10(3), 1998).
package gang

import "slices"

// Problem is one ganging problem over artworks 0..len(Need)-1.
type Problem struct {
	// Need is the number of copies of each artwork that must be printed, 1 or more.
	Need []int
	// Size is the least share of a sheet that one copy takes up, above 0 and at most 1.
	Size []float64
	// Slots, when above 0, says that all artworks are of one size and a sheet
	// holds so many copies in any mix; Fits is then not asked.
	Slots int
	// Fits reports whether one sheet holds these copies. Fewer copies than fit must fit.
	Fits func(copies []int) bool
	// TryHard, when not nil, asks the same with more effort (search steps);
	// what it once held Fits must hold from then on.
	TryHard func(copies []int, effort int) bool
	// SetUp returns the cost of setting up a layout with these copies.
	SetUp func(copies []int) float64
	// Breaks are prices by number of identical sheets, From ascending, the
	// first at 1 or below.
	Breaks []Break
	// PerOrder counts the sheets of all layouts together towards a break.
	PerOrder bool
	// Worth is the worth of an over, Useful the number of overs that are worth it; both
	// may be nil.
	Worth  []float64
	Useful []int
	// MaxLayouts bounds the number of layouts; 0 means no bound.
	MaxLayouts int
}

// Break is a price each from a number of sheets on.
type Break struct {
	From  int
	Price float64
}

// Layout is copies of each artwork on a sheet and the number of sheets printed.
type Layout struct {
	Copies []int
	Run    int
}

// Solution is a set of layouts that covers the need.
type Solution struct {
	// Name says which simple rule made it; empty for a search.
	Name    string
	Layouts []Layout
	SetUp   float64
	Print   float64
	// OverWorth is the worth of useful overs.
	OverWorth float64
	// Proven says that no cheaper solution exists.
	Proven bool
}

// Net returns what the search minimises: what is paid less what is left of worth.
func (s *Solution) Net() float64 { return s.SetUp + s.Print - s.OverWorth }

// Sheets returns the number of sheets printed.
func (s *Solution) Sheets() int {
	n := 0
	for _, l := range s.Layouts {
		n += l.Run
	}
	return n
}

// price returns what a sheet costs when n are printed.
func (p *Problem) price(n int) float64 {
	v := p.Breaks[0].Price
	for _, b := range p.Breaks[1:] {
		if n >= b.From {
			v = b.Price
		}
	}
	return v
}

// cheapest returns how many sheets to order when n are wanted: n, or as many
// as the next break asks for if that costs no more.
func (p *Problem) cheapest(n int) (order int, cost float64) {
	order, cost = n, float64(n)*p.price(n)
	for _, b := range p.Breaks[1:] {
		if v := float64(b.From) * b.Price; b.From > order && v <= cost {
			order, cost = b.From, v
		}
	}
	return order, cost
}

// finish drops unused layouts, orders the rest by run, raises runs to a
// cheaper break and works out the cost.
func (p *Problem) finish(layouts []Layout) Solution {
	var s Solution
	for _, l := range layouts {
		if l.Run > 0 {
			s.Layouts = append(s.Layouts, Layout{slices.Clone(l.Copies), l.Run})
		}
	}
	slices.SortStableFunc(s.Layouts, func(a, b Layout) int { return b.Run - a.Run })
	s.Print = p.print(s.Layouts)
	for _, l := range s.Layouts {
		s.SetUp += p.SetUp(l.Copies)
	}
	s.OverWorth = p.overWorth(s.Layouts)
	return s
}

// net returns what finish would make the layouts cost, without keeping anything.
func (p *Problem) net(layouts []Layout) float64 {
	var cost float64
	total := 0
	for i := range layouts {
		run := layouts[i].Run
		if run == 0 {
			continue
		}
		total += run
		cost += p.SetUp(layouts[i].Copies)
		if !p.PerOrder {
			_, c := p.cheapest(run)
			cost += c
		}
	}
	if p.PerOrder {
		_, c := p.cheapest(total)
		cost += c
	}
	return cost - p.overWorth(layouts)
}

// print returns the cost of the copies, after raising runs to breaks that pay.
func (p *Problem) print(layouts []Layout) (cost float64) {
	if !p.PerOrder {
		for i := range layouts {
			var c float64
			layouts[i].Run, c = p.cheapest(layouts[i].Run)
			cost += c
		}
		return cost
	}
	total := 0
	for _, l := range layouts {
		total += l.Run
	}
	order, cost := p.cheapest(total)
	if order > total && len(layouts) > 0 {
		layouts[0].Run += order - total
	}
	return cost
}

func (p *Problem) overWorth(layouts []Layout) (worth float64) {
	if p.Worth == nil {
		return 0
	}
	for j, need := range p.Need {
		over := -need
		for _, l := range layouts {
			over += l.Copies[j] * l.Run
		}
		worth += p.Worth[j] * float64(min(max(0, over), p.Useful[j]))
	}
	return worth
}

// floor returns the least number of sheets by area alone.
func (p *Problem) floor() int {
	var a float64
	for j, n := range p.Need {
		a += float64(n) * p.Size[j]
	}
	return max(1, ceil(a))
}

// Part returns the problem of some of the artworks only.
func (p *Problem) Part(artworks []int) *Problem {
	part := *p
	part.Need, part.Size, part.Worth, part.Useful = nil, nil, nil, nil
	for _, j := range artworks {
		part.Need = append(part.Need, p.Need[j])
		part.Size = append(part.Size, p.Size[j])
		if p.Worth != nil {
			part.Worth = append(part.Worth, p.Worth[j])
			part.Useful = append(part.Useful, p.Useful[j])
		}
	}
	part.Fits = func(copies []int) bool { return p.Fits(p.widen(copies, artworks)) }
	if p.TryHard != nil {
		part.TryHard = func(copies []int, effort int) bool { return p.TryHard(p.widen(copies, artworks), effort) }
	}
	part.SetUp = func(copies []int) float64 { return p.SetUp(p.widen(copies, artworks)) }
	return &part
}

// Spread brings layouts of a part back to the whole problem.
func (p *Problem) Spread(layouts []Layout, artworks []int) []Layout {
	out := make([]Layout, len(layouts))
	for i, l := range layouts {
		out[i] = Layout{p.widen(l.Copies, artworks), l.Run}
	}
	return out
}

func (p *Problem) widen(copies []int, artworks []int) []int {
	wide := make([]int, len(p.Need))
	for i, c := range copies {
		wide[artworks[i]] = c
	}
	return wide
}

// Cost works out what layouts that cover the need cost.
func (p *Problem) Cost(layouts []Layout) Solution { return p.finish(layouts) }
