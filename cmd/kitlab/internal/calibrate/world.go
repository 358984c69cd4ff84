package calibrate

import (
	"fmt"
	"math"
	"math/rand/v2"

	"gonum.org/v1/gonum/stat/distuv"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/simulate"
	"github.com/kitmuster/kitmuster/programme/wear"
)

// world is one invented client that lives by the model's own rules, in steps of a day.
type world struct {
	rng    *rand.Rand
	study  Study
	shop   *programme.Shop
	client *programme.Client
	// What is so.
	cloth, print   wear.Weibull // in washes
	mishap, leave  float64      // per day
	hires          float64      // per day
	people         []*wearer
	today          int
	ledger         []programme.Movement
	needed, joined int
}

type wearer struct {
	id          string
	first, last int // last < 0 = still there
	leaves      int
	pieces      []piece
	unseen      [kit]int // endings nobody has written down, by colour
}

type piece struct {
	washes, cloth, print float64
	mishap, colour       int
}

const (
	epoch       = programme.Date(19000)
	daysPerYear = 365.2425
	kit         = 4 // pieces a person holds
	wearsAWeek  = 6 // of all of them
	countEvery  = 182
)

// colours returns the colours of the kit: one piece each, so that records tell pieces
// apart, or all alike.
func (w *world) colours() [kit]int {
	if w.study.Alike {
		return [kit]int{}
	}
	return [kit]int{0, 1, 2, 3}
}

func colourName(c int) string { return [kit]string{"black", "navy", "green", "white"}[c] }

func (w *world) kitLines() []programme.KitLine {
	line := programme.KitLine{Garment: "tee", Each: 1, WearsAWeek: wearsAWeek / float64(kit),
		Decorations: []programme.Decoration{{Artwork: "mark"}}}
	if w.study.Alike {
		line.Each, line.WearsAWeek, line.Colour = kit, wearsAWeek, colourName(0)
		return []programme.KitLine{line}
	}
	var out []programme.KitLine
	for _, c := range w.colours() {
		line.Colour = colourName(c)
		out = append(out, line)
	}
	return out
}

func (w *world) date(day int) programme.Date { return epoch.Add(day) }

// newWorld draws a client's truth from the program's prior beliefs and lets it live.
func newWorld(s Study, rng *rand.Rand) *world {
	shop := &programme.Shop{
		Baselines: programme.DefaultBaselines(),
		Garments: []programme.Garment{{
			Code: "tee", FabricClass: "cotton-tee-carded", SizeFamily: "one", WearsPerWash: 1,
			Sizes: []programme.GarmentSize{{Code: "OS"}},
		}},
		Kinds:    []programme.TransferKind{{Code: "screen", Decoration: "plastisol"}},
		Artworks: []programme.Artwork{{Code: "mark", Kind: "screen"}},
	}
	heads := 5 + rng.IntN(26)
	client := &programme.Client{
		Code: "invented", Laundering: programme.Laundering{Regime: "home-low"},
		Work: programme.Work{Duty: programme.Medium}, RecordsStart: epoch,
		Intake:  programme.Intake{PerYear: 0.4 * float64(heads), Strength: 2},
		Leavers: programme.Leavers{PerYear: 0.4, Strength: 15},
	}
	w := &world{rng: rng, study: s, shop: shop, client: client}
	client.Roles = []programme.Role{{Code: "floor", Kit: w.kitLines()}}
	b := &shop.Baselines
	w.cloth = w.truth(b.Fabrics[0].Median, b.Fabrics[0].Shape)
	w.print = w.truth(b.Decorations[0].Median, b.Decorations[0].Shape)
	w.mishap = b.MishapPerYear * w.gamma(b.PriorEndings) / daysPerYear
	w.leave = client.Leavers.PerYear * w.gamma(client.Leavers.PerYear*client.Leavers.Strength) / daysPerYear
	w.hires = client.Intake.PerYear * w.gamma(client.Intake.PerYear*client.Intake.Strength) / daysPerYear
	for range heads {
		w.join()
	}
	w.joined = 0
	days := int((s.FromYears + rng.Float64()*(s.ToYears-s.FromYears)) * daysPerYear)
	for w.today < days {
		w.day(s.Unseen)
		if s.Unseen > 0 && (w.today%countEvery == 0 || w.today == days && !s.Stale) {
			w.count()
		}
	}
	return w
}

// truth draws a Weibull distribution from the prior: a Gamma rate and a log-normal
// shape, each with the spread of the stated pseudo-endings.
func (w *world) truth(median, shape float64) wear.Weibull {
	strength := w.shop.Baselines.PriorEndings
	k := shape * math.Exp(w.rng.NormFloat64()*math.Sqrt(6)/math.Pi/math.Sqrt(strength))
	return wear.Weibull{Shape: k, Scale: w.study.Factor * wear.FromMedian(median,
		shape).Scale * math.Pow(w.gamma(strength), -1/k)}
}

// gamma draws a factor with mean 1.
func (w *world) gamma(strength float64) float64 {
	return distuv.Gamma{Alpha: strength, Beta: strength, Src: w.rng}.Rand()
}

func (w *world) join() {
	p := &wearer{id: fmt.Sprintf("p%03d", len(w.people)+1), first: w.today, last: -1}
	p.leaves = w.today + 1 + int(w.rng.ExpFloat64()/w.leave)
	w.people = append(w.people, p)
	w.joined += kit
	for _, c := range w.colours() {
		w.issue(p, c)
	}
}

func (w *world) write(p *wearer, colour int, kind programme.MovementKind, pieces int, why programme.Reason) {
	w.ledger = append(w.ledger, programme.Movement{
		Date: w.date(w.today), Kind: kind, StaffID: p.id, SKU: programme.SKU{Garment: "tee", Colour: colourName(colour),
			Size: "OS"}, Pieces: pieces, Reason: why,
	})
}

func (w *world) issue(p *wearer, colour int) {
	p.pieces = append(p.pieces, piece{
		cloth: simulate.Draw(w.cloth, w.rng), print: simulate.Draw(w.print, w.rng),
		mishap: w.today + 1 + int(w.rng.ExpFloat64()/w.mishap), colour: colour,
	})
	w.write(p, colour, programme.Issued, 1, programme.NoReason)
}

// alive returns the pieces a person still has, by colour.
func (p *wearer) alive() (n [kit]int) {
	for i := range p.pieces {
		n[p.pieces[i].colour]++
	}
	return n
}

// day lets one day pass: pieces wear and are replaced at once where the ending
// is seen, people leave and join.
func (w *world) day(unseen float64) {
	w.today++
	for _, p := range w.people {
		if p.last >= 0 {
			continue
		}
		w.wear(p, unseen)
		if w.today >= p.leaves {
			w.part(p)
		}
	}
	for range int(distuv.Poisson{Lambda: w.hires, Src: w.rng}.Rand()) {
		w.join()
	}
}

func (w *world) wear(p *wearer, unseen float64) {
	perColour := wearsAWeek / 7.0
	if !w.study.Alike {
		perColour /= kit
	}
	alive := p.alive()
	kept := p.pieces[:0]
	var gone []int
	for _, x := range p.pieces {
		x.washes += perColour / float64(alive[x.colour])
		var why programme.Reason
		switch {
		case x.washes >= x.cloth && x.cloth <= x.print:
			why = programme.Worn
		case x.washes >= x.print:
			why = programme.Print
		case w.today >= x.mishap:
			why = programme.Lost
		default:
			kept = append(kept, x)
			continue
		}
		w.needed++
		if w.rng.Float64() < unseen {
			p.unseen[x.colour]++
			continue
		}
		w.write(p, x.colour, programme.Ended, 1, why)
		gone = append(gone, x.colour)
	}
	p.pieces = kept
	for _, c := range gone {
		w.issue(p, c)
	}
}

// part lets somebody go; a count after the pieces are handed back shows that
// no more are left.
func (w *world) part(p *wearer) {
	p.last = w.today
	for c, n := range p.alive() {
		if n > 0 {
			w.write(p, c, programme.Ended, n, programme.LeftReason)
		}
		if p.unseen[c] > 0 {
			w.write(p, c, programme.Counted, 0, programme.NoReason)
		}
	}
	p.pieces = nil
}

// count musters everybody; what is missing is replaced on the same day.
func (w *world) count() {
	for _, p := range w.people {
		if p.last >= 0 {
			continue
		}
		for c, n := range p.alive() {
			if w.study.Alike && c > 0 {
				break
			}
			w.write(p, c, programme.Counted, n, programme.NoReason)
			for range p.unseen[c] {
				w.issue(p, c)
			}
			p.unseen[c] = 0
		}
	}
}

// reveal counts what is hidden still, and replaces it.
func (w *world) reveal() int {
	hidden := 0
	for _, p := range w.people {
		if p.last >= 0 {
			continue
		}
		for _, n := range p.unseen {
			hidden += n
		}
	}
	w.count()
	return hidden
}

func (w *world) roster() []programme.Person {
	var out []programme.Person
	for _, p := range w.people {
		person := programme.Person{StaffID: p.id, Role: "floor", Start: w.date(p.first)}
		if p.last >= 0 {
			person.End = w.date(p.last)
		}
		out = append(out, person)
	}
	return out
}

// future lets days pass with every ending seen and returns the pieces needed.
func (w *world) future(days int) int {
	w.needed, w.joined = 0, 0
	for range days {
		w.day(0)
	}
	return w.needed + w.joined
}
