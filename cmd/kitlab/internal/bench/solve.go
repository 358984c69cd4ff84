package bench

import (
	"fmt"

	"github.com/kitmuster/kitmuster/programme/sheet/gang"
	"github.com/kitmuster/kitmuster/programme/sheet/pack"
)

// Solve runs one problem.
func (p *Problem) Solve(opt Options) (Found, error) {
	pieces := make([]pack.Piece, len(p.Pieces))
	for i, q := range p.Pieces {
		q.Turn = opt.Turn
		pieces[i] = q
	}
	budget := opt.Budget
	budget.Guillotine = opt.Guillotine
	switch p.Kind {
	case Strip:
		places, height, err := pack.Strip(pieces, p.Width, budget)
		return Found{Value: float64(height), Places: [][]pack.Place{places}}, err
	case Sheets:
		p.Known = float64(pack.Bound(pieces, p.Width, p.Height))
		sheets, err := pack.Bins(pieces, p.Width, p.Height, budget)
		return Found{Value: float64(len(sheets)), Places: sheets}, err
	case Gang, Run:
		return p.gang(pieces, budget)
	default:
		return Found{}, fmt.Errorf("unknown kind of problem %q", p.Kind)
	}
}

// gang chooses layouts; pieces carry the need in Count.
func (p *Problem) gang(pieces []pack.Piece, budget pack.Options) (Found, error) {
	q := &gang.Problem{
		Slots: p.slots, MaxLayouts: p.Layouts,
		SetUp:  func([]int) float64 { return p.setUp },
		Breaks: []gang.Break{{From: 1, Price: p.sheet}},
		Fits: func(copies []int) bool {
			return p.fits(pieces, copies, pack.Options{Iterations: fitEffort, Guillotine: budget.Guillotine})
		},
	}
	if p.slots == 0 {
		q.TryHard = func(copies []int, effort int) bool {
			return p.fits(pieces, copies, pack.Options{Seed: budget.Seed + uint64(effort), Iterations: effort,
				Stop: budget.Stop, Guillotine: budget.Guillotine})
		}
	}
	for _, piece := range pieces {
		q.Need = append(q.Need, piece.Count)
		size := float64(piece.W) * float64(piece.H) / (float64(p.Width) * float64(p.Height))
		if p.slots > 0 {
			size = 1 / float64(p.slots)
		}
		q.Size = append(q.Size, size)
	}
	s, err := gang.Solve(q, gang.Options{Seed: budget.Seed, Iterations: budget.Iterations, Stop: budget.Stop})
	if err != nil {
		return Found{}, err
	}
	f := Found{Value: s.Net(), Layout: s.Layouts}
	for _, simple := range gang.Simple(q) {
		if p.Layouts > 0 && len(simple.Layouts) > p.Layouts {
			continue
		}
		if f.Simple == 0 || simple.Net() < f.Simple {
			f.Simple = simple.Net()
		}
	}
	return f, nil
}

// fitEffort is the search effort for one sheet while layouts are chosen.
const fitEffort = 60

func (p *Problem) fits(pieces []pack.Piece, copies []int, opt pack.Options) bool {
	q := make([]pack.Piece, len(pieces))
	for i := range pieces {
		q[i] = pieces[i]
		q[i].Count = copies[i]
	}
	_, ok := pack.Fit(q, p.Width, p.Height, opt)
	return ok
}
