package laboratory

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/simulate"
)

type person struct {
	id, size string
	pace     float64
	first    int
	last     int // -1 = still there
	holds    [][]piece
	missing  []int // by line: ended, and nobody has written it down or replaced it
}

type piece struct {
	washes, cloth, print float64
	mishap               int
}

// late is an ending that will be written down, and replaced, on a day to come.
type late struct {
	who  *person
	line int
	row  programme.Movement
	on   int
}

// newsDays is the number of days before the forecast on which a bad delivery or a harsher laundry begins, where a world
// has one.
const newsDays = 150

// hire takes one person on and hands out the kit.
func (c *client) hire() {
	p := &person{id: fmt.Sprintf("p%03d", len(c.people)+1), size: c.size(), pace: 1, first: c.today, last: -1,
		holds: make([][]piece, len(c.lines)), missing: make([]int, len(c.lines))}
	if sd := c.world.People; sd > 0 {
		p.pace = math.Exp(sd * c.rng.NormFloat64())
	}
	c.people, c.here = append(c.people, p), append(c.here, p)
	for i := range c.lines {
		for range c.lines[i].each {
			c.issue(p, i)
			c.need(p, i)
		}
	}
}

func (c *client) size() string {
	at := 100 * c.rng.Float64()
	for _, s := range sizes {
		if at -= s.Share; at < 0 {
			return s.Size
		}
	}
	return sizes[len(sizes)-1].Size
}

func (c *client) sku(p *person, line int) programme.SKU {
	return programme.SKU{Garment: c.lines[line].garment, Colour: c.lines[line].colour, Size: p.size}
}

func (c *client) need(p *person, line int) {
	if c.counting {
		c.needed[c.sku(p, line)]++
	}
}

func (c *client) row(p *person, line int, kind programme.MovementKind, n int, why programme.Reason) programme.Movement {
	return programme.Movement{Date: c.date(), Entered: c.date(), Kind: kind, StaffID: p.id, SKU: c.sku(p, line),
		Pieces: n, Reason: why}
}

func (c *client) issue(p *person, line int) {
	l := &c.lines[line]
	x := piece{cloth: simulate.Draw(l.cloth, c.rng), print: l.print.Scale,
		mishap: c.today + 1 + int(c.rng.ExpFloat64()/l.mishap)}
	if !math.IsInf(l.print.Scale, 1) {
		x.print = simulate.Draw(l.print, c.rng)
	}
	if c.world.Bad > 0 && c.today >= c.asOf-newsDays && c.today < c.asOf-newsDays+90 {
		x.cloth, x.print = c.world.Bad*x.cloth, c.world.Bad*x.print
	}
	p.holds[line] = append(p.holds[line], x)
	c.ledger = append(c.ledger, c.row(p, line, programme.Issued, 1, programme.NoReason))
}

// season returns how hard the day wears, mean 1 over the year, hardest in spring.
func (c *client) season() float64 {
	return 1 + c.world.Season*math.Sin(2*math.Pi*float64(c.date().Time().YearDay())/daysPerYear)
}

// months returns season as a programme states it: one factor a month.
func months(swing float64) (out [12]float64) {
	for m := range out {
		middle := daysPerYear * (float64(m) + 0.5) / 12
		out[m] = math.Round(100*(1+swing*math.Sin(2*math.Pi*middle/daysPerYear))) / 100
	}
	return out
}

// day lets one day pass.
func (c *client) day(waiting []late) []late {
	c.today++
	hard := c.season()
	if c.world.Harsh > 0 && c.today >= c.asOf-newsDays {
		hard *= c.world.Harsh
	}
	for _, p := range c.here {
		for i := range c.lines {
			waiting = c.wear(p, i, hard, waiting)
		}
	}
	waiting = c.enter(waiting)
	c.leave()
	c.resize()
	c.start()
	if c.world.CountEvery > 0 && !c.counting && c.today%c.world.CountEvery == 0 {
		c.count()
	}
	return waiting
}

// wear washes a person's pieces of a line, and replaces what ended as the world does.
func (c *client) wear(p *person, line int, hard float64, waiting []late) []late {
	l := &c.lines[line]
	each := hard * p.pace * l.perDay / float64(max(1, len(p.holds[line])))
	kept := p.holds[line][:0]
	var why []programme.Reason
	for _, x := range p.holds[line] {
		x.washes += each
		switch {
		case x.washes >= x.cloth && x.cloth <= x.print:
			why = append(why, programme.Worn)
		case x.washes >= x.print:
			why = append(why, programme.Print)
		case c.today >= x.mishap:
			why = append(why, programme.Lost)
		default:
			kept = append(kept, x)
		}
	}
	p.holds[line] = kept
	for _, r := range why {
		waiting = c.ended(p, line, r, waiting)
	}
	return waiting
}

// ended writes an ending down, or does not, and replaces the piece, or does not.
// From the forecast on everything is seen.
func (c *client) ended(p *person, line int, why programme.Reason, waiting []late) []late {
	c.need(p, line)
	switch {
	case !c.counting && c.rng.Float64() < c.world.Unseen:
		if c.world.Replaced {
			c.issue(p, line)
		} else {
			p.missing[line]++
		}
	case c.world.Late > 0 && !c.counting:
		p.missing[line]++
		return append(waiting, late{p, line, c.row(p, line, programme.Ended, 1, why),
			c.today + c.rng.IntN(c.world.Late)})
	default:
		c.ledger = append(c.ledger, c.row(p, line, programme.Ended, 1, why))
		c.issue(p, line)
	}
	return waiting
}

// enter writes down what has waited, each row with the day of its ending.
func (c *client) enter(waiting []late) []late {
	kept := waiting[:0]
	for _, w := range waiting {
		if w.on > c.today {
			kept = append(kept, w)
			continue
		}
		if w.who.missing[w.line]--; w.who.last < 0 {
			w.row.Entered = c.date()
			c.ledger = append(c.ledger, w.row)
			c.issue(w.who, w.line)
		}
	}
	return kept
}

// leave lets people go, each alone or a group on one day; they hand back what they have.
func (c *client) leave() {
	group := max(1, c.world.Group)
	if len(c.here) == 0 {
		return
	}
	for range c.poisson(c.leaving * float64(len(c.here)) / group) {
		for range min(c.party(), len(c.here)) {
			at := c.rng.IntN(len(c.here))
			c.part(c.here[at])
			c.here = append(c.here[:at], c.here[at+1:]...)
		}
	}
}

func (c *client) part(p *person) {
	p.last = c.today
	for i := range c.lines {
		if n := len(p.holds[i]); n > 0 && !c.world.Kept {
			c.ledger = append(c.ledger, c.row(p, i, programme.Ended, n, programme.LeftReason))
		}
		p.holds[i] = nil
	}
}

// resize lets people change to the size beside theirs and exchange what they have.
func (c *client) resize() {
	if len(c.here) == 0 {
		return
	}
	for range c.poisson(c.resizing * float64(len(c.here))) {
		p := c.here[c.rng.IntN(len(c.here))]
		had := make([]int, len(c.lines))
		for i := range c.lines {
			if had[i] = len(p.holds[i]); had[i] > 0 {
				c.ledger = append(c.ledger, c.row(p, i, programme.Ended, had[i], programme.SizeChange))
			}
			p.holds[i] = nil
		}
		p.size = c.beside(p.size)
		for i, n := range had {
			for range n {
				c.issue(p, i)
				c.need(p, i)
			}
		}
	}
}

// beside returns the size next to one.
func (c *client) beside(size string) string {
	at := slices.IndexFunc(sizes, func(s programme.SizeShare) bool { return s.Size == size })
	if at == 0 || at < len(sizes)-1 && c.rng.Float64() < growing {
		return sizes[at+1].Size
	}
	return sizes[at-1].Size
}

func (c *client) start() {
	for range c.poisson(c.hiring / max(1, c.world.Group)) {
		for range c.party() {
			c.hire()
		}
	}
}

// party returns how many come or go on one day: 1, or geometric with the world's mean.
func (c *client) party() int {
	n := 1
	for c.world.Group > 1 && c.rng.Float64() > 1/c.world.Group {
		n++
	}
	return n
}

func (c *client) poisson(mean float64) int {
	if mean <= 0 {
		return 0
	}
	return int(distuv.Poisson{Lambda: mean, Src: c.rng}.Rand())
}

// count writes down what everybody holds and replaces what is missing.
func (c *client) count() {
	for _, p := range c.here {
		for i := range c.lines {
			c.ledger = append(c.ledger, c.row(p, i, programme.Counted, len(p.holds[i]), programme.NoReason))
			for range p.missing[i] {
				c.issue(p, i)
			}
			p.missing[i] = 0
		}
	}
}

// live lets the years of records pass.
func (c *client) live() {
	var waiting []late
	for c.today < c.asOf {
		waiting = c.day(waiting)
	}
	slices.SortStableFunc(c.ledger, func(a, b programme.Movement) int { return cmp.Compare(a.Date, b.Date) })
}

// ahead lets weeks pass with everything seen, and returns what was needed in
// them: what ended and what starters took. What nobody has written down by the
// first day is needed then, where the world replaces such pieces once they come
// to light.
func (c *client) ahead(weeks int) map[programme.SKU]int {
	c.counting = true
	clear(c.needed)
	for _, p := range c.here {
		for i, n := range p.missing {
			for range n {
				if c.world.CountEvery > 0 || c.world.Late > 0 {
					c.need(p, i)
					c.issue(p, i)
				}
			}
		}
	}
	for range 7 * weeks {
		c.day(nil)
	}
	return c.needed
}

func (c *client) roster() []programme.Person {
	var out []programme.Person
	for _, p := range c.people {
		who := programme.Person{StaffID: p.id, Role: "floor", Start: c.first.Add(p.first),
			Sizes: map[string]string{"top": p.size}}
		if p.last >= 0 {
			who.End = c.first.Add(p.last)
		}
		out = append(out, who)
	}
	return out
}
