package sheet

import (
	"cmp"
	"maps"
	"slices"

	"github.com/kitmuster/kitmuster/programme"
)

// Apart returns what each client's transfers would cost if nothing were shared
// with others, by client. Taken from what is paid together it is the saving of
// pooling.
func Apart(req Request) (map[string]Cost, error) {
	needs := map[string][]Need{}
	for _, n := range req.Needs {
		if art, ok := req.Shop.Artwork(n.Artwork); ok {
			needs[art.Client] = append(needs[art.Client], n)
		}
	}
	costs := map[string]Cost{}
	for _, client := range slices.Sorted(maps.Keys(needs)) {
		alone := req
		alone.Needs = needs[client]
		plan, err := Arrange(alone)
		if err != nil {
			return nil, err
		}
		costs[client] = plan.Cost
	}
	return costs, nil
}

// Candidate is a client that is not due yet, with the transfers it will need.
type Candidate struct {
	Client string
	Needs  []Need
	// Early is what ordering now costs more than waiting until the client is
	// due: money tied up, the risk that the need changes.
	Early programme.Money
}

// Pulled is a candidate worth printing now, with the sum that shows it.
type Pulled struct {
	Client string `json:"client"`
	// Alone is what its transfers would cost later by themselves, Added what
	// they add to the present order; both less what useful overs are worth.
	Alone programme.Money `json:"alone"`
	Added programme.Money `json:"added"`
	Early programme.Money `json:"early"`
	// Saving is Alone less Added less Early, above 0.
	Saving programme.Money `json:"saving"`
}

// PullForward decides which near-due clients to print together with those of
// the request, and returns the plan with them. A candidate is taken when that
// saves more than ordering early costs, those that save most first; each is
// judged again beside the ones already taken.
func PullForward(req Request, candidates []Candidate) (Plan, []Pulled, error) {
	plan, err := Arrange(req)
	if err != nil || len(req.Needs) == 0 {
		return plan, nil, err
	}
	ranked := make([]Pulled, len(candidates))
	for i, c := range candidates {
		alone := req
		alone.Needs = c.Needs
		p, err := Arrange(alone)
		if err != nil {
			return Plan{}, nil, err
		}
		ranked[i] = Pulled{Client: c.Client, Alone: p.net(), Early: c.Early}
		if _, _, err := ranked[i].beside(req, &plan, c.Needs); err != nil {
			return Plan{}, nil, err
		}
	}
	order := make([]int, len(candidates))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int {
		return cmp.Or(cmp.Compare(ranked[b].Saving, ranked[a].Saving), cmp.Compare(ranked[a].Client, ranked[b].Client))
	})
	var taken []Pulled
	for _, i := range order {
		if ranked[i].Saving <= 0 {
			break
		}
		next, wider, err := ranked[i].beside(req, &plan, candidates[i].Needs)
		if err != nil {
			return Plan{}, nil, err
		}
		if ranked[i].Saving > 0 {
			plan, req = next, wider
			taken = append(taken, ranked[i])
		}
	}
	return plan, taken, nil
}

// beside works out what a candidate adds to a plan, and the plan with it.
func (p *Pulled) beside(req Request, plan *Plan, needs []Need) (Plan, Request, error) {
	req.Needs = append(slices.Clone(req.Needs), needs...)
	with, err := Arrange(req)
	if err != nil {
		return Plan{}, req, err
	}
	p.Added = with.net() - plan.net()
	p.Saving = p.Alone - p.Added - p.Early
	return with, req, nil
}

// net is what the plan costs less what useful overs are worth.
func (p *Plan) net() programme.Money { return p.Cost.Total() - p.Cost.OverWorth }
