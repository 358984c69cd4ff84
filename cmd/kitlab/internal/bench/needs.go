package bench

import (
	"fmt"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/sheet"
	"github.com/kitmuster/kitmuster/programme/sheet/inspect"
	"github.com/kitmuster/kitmuster/programme/sheet/sheettest"
)

// Needs says which invented needs to plan: Count of them from number From on. Budget
// begins the search for one plan, with a share of the usual effort.
type Needs struct {
	Count  int
	From   uint64
	Budget func(share float64) sheet.Budget
}

// plan arranges a need and lets the rules of the trade check what came out.
func (n Needs) plan(req sheet.Request, share float64) (sheet.Plan, error) {
	req.Budget = n.Budget(share)
	plan, err := sheet.Arrange(req)
	if err != nil {
		return plan, err
	}
	if faults := inspect.Plan(req.Shop, &plan); len(faults) > 0 {
		return plan, fmt.Errorf("the plan breaks a rule: %s", faults[0])
	}
	return plan, nil
}

// RollNeeds tells how much longer rolls are than a bound that nothing is below, as
// shares of it.
type RollNeeds struct {
	Cut   programme.CutStyle `json:"cut"`
	Needs int                `json:"needs"`
	Mean  float64            `json:"mean"`
	Worst float64            `json:"worst"`
}

// Rolls plans needs on a roll.
func (n Needs) Rolls(cut programme.CutStyle) (RollNeeds, error) {
	out := RollNeeds{Cut: cut, Needs: n.Count}
	for i := range n.Count {
		req := sheettest.ShopNeed(n.From+uint64(i), cut, sheettest.Roll)
		plan, err := n.plan(req, 1)
		if err != nil {
			return out, err
		}
		gap := float64(plan.Orders[0].Used)/sheettest.LengthFloor(req) - 1
		out.Mean += gap / float64(n.Count)
		out.Worst = max(out.Worst, gap)
	}
	return out, nil
}

// PageNeeds compares the numbers of fixed sheets that the planner and packers for general use need.
type PageNeeds struct {
	Needs   int `json:"needs"`
	Sheets  int `json:"sheets"`
	General int `json:"general"`
	// More counts the needs that took more sheets than with the better of the packers.
	More int `json:"more"`
}

// Pages plans needs on fixed sheets.
func (n Needs) Pages() (PageNeeds, error) {
	out := PageNeeds{Needs: n.Count}
	for i := range n.Count {
		req := sheettest.PageNeed(n.From + uint64(i))
		plan, err := n.plan(req, 1)
		if err != nil {
			return out, err
		}
		ours, theirs := plan.Orders[0].Sheets(), sheettest.GeneralSheets(req)
		out.Sheets, out.General = out.Sheets+ours, out.General+theirs
		if ours > theirs {
			out.More++
		}
	}
	return out, nil
}

// SmallNeeds counts the small screen-printed needs that are planned at least cost.
type SmallNeeds struct {
	Needs int `json:"needs"`
	Least int `json:"least"`
	// Over is by how much all plans together cost more than they need, as a share.
	Over float64 `json:"over"`
}

// Single plans small needs of one client each and holds them against every way to print them.
func (n Needs) Single() (SmallNeeds, error) {
	return n.small(0, 1, func(i int) sheet.Request {
		return sheettest.GangNeed(n.From+uint64(i), 1, 2+i%2)
	})
}

// poolShare is the effort that several clients together get, for the usual one of one client.
const poolShare = 2

// Pooled plans small needs of two or three clients together.
func (n Needs) Pooled() (SmallNeeds, error) {
	return n.small(singleNeeds, poolShare, func(i int) sheet.Request {
		return sheettest.GangNeed(n.From+uint64(i), 2+i%2, 3)
	})
}

// singleNeeds is the number of needs of one client that come before the pooled ones.
const singleNeeds = 40

func (n Needs) small(first int, share float64, need func(i int) sheet.Request) (SmallNeeds, error) {
	out := SmallNeeds{Needs: n.Count}
	var paid, least float64
	for i := first; i < first+n.Count; i++ {
		req := need(i)
		plan, err := n.plan(req, share)
		if err != nil {
			return out, err
		}
		ours, exact := float64(plan.Cost.Total()), sheettest.LeastCost(req)
		paid, least = paid+ours, least+exact
		if ours <= exact+0.5 {
			out.Least++
		}
	}
	out.Over = paid/least - 1
	return out, nil
}

// Spent holds the sum that forty clients pay together after a share of the usual effort.
type Spent struct {
	Share float64         `json:"share"`
	Cost  programme.Money `json:"cost"`
}

// Forty plans the transfers of forty clients together with a hundredth, a tenth, and
// all of the usual effort. The cost is less what is left over of worth.
func (n Needs) Forty() (out []Spent, err error) {
	for _, share := range []float64{0.01, 0.1, 1} {
		plan, err := n.plan(sheettest.GangNeed(n.From+fortyNeed, 40, 40), share)
		if err != nil {
			return out, err
		}
		out = append(out, Spent{share, plan.Cost.Total() - plan.Cost.OverWorth})
	}
	return out, nil
}

// fortyNeed is the number of the need of forty clients.
const fortyNeed = 4040
