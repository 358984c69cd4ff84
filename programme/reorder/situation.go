package reorder

import (
	"math"

	"github.com/kitmuster/kitmuster/programme"
)

// situation is one client's input, sorted and split, while it is worked on.
type situation struct {
	in       *Input
	horizon  Horizon
	lead     Lead
	calendar calendar
	ordinary []Stocked
	held     []Stocked // protective: never ordered by the program
	naming   *naming   // see names
	wearers  map[programme.SKU]int
	policy   *policy      // of the ordinary lines
	plan     *plan        // the order it comes to; nil until it is asked for
	beside   []Choice     // plans to choose from beside it; nil until they are asked for
	later    map[int]bool // lines left for a later order
}

func newSituation(in *Input) *situation {
	c := situationOf(in)
	c.policy = c.newPolicy(c.ordinary)
	return c
}

// situationOf leaves out the policy, which takes time.
func situationOf(in *Input) *situation {
	c := &situation{in: in, horizon: in.horizon(), lead: LeadOfClient(in.Shop, in.Client),
		calendar: calendar{in.Shop.Closed}, wearers: wearers(in), later: map[int]bool{}}
	for _, l := range in.sorted() {
		if in.protective(l.sku().Garment) {
			c.held = append(c.held, l)
		} else {
			c.ordinary = append(c.ordinary, l)
		}
	}
	return c
}

// names is made when it is asked for: of clients that are not due nobody is named.
func (c *situation) names() *naming {
	if c.naming == nil {
		if c.in.Date != nil {
			c.in.Date()
		}
		n := newNaming(c.in)
		n.asOf, n.horizon = c.in.AsOf, c.in.AsOf.Add(7*c.horizon.Quantity)
		c.naming = &n
	}
	return c.naming
}

// decide asks the policy whether to order now, and the programme whether it may.
func (c *situation) decide() Decision {
	lines := trigger(c.ordinary, c.horizon)
	d := Decision{Fill: fillOf(lines), Target: c.in.Client.FillRate}
	d.Due = c.policy.due() && c.dueAsTrimmed() || tooLow(d.Fill, d.Target)
	d.Reasons = reasons(lines, d.Due)
	if d.Due {
		c.restrain(&d)
	}
	if d.Due {
		d.NextDue = c.in.AsOf
		return d
	}
	if d.NextDue.IsZero() {
		d.NextDue = c.policy.nextDue()
	}
	return d
}

// dueAsTrimmed asks anew whether to order now where orders of few people leave
// pieces out that nobody is named for: ordering so costs more a week than the best
// plan, and what waiting is judged by is what ordering really costs.
func (c *situation) dueAsTrimmed() bool {
	if !c.few() || c.policy.plan == nil {
		return true
	}
	levels := make([]int, len(c.policy.planned))
	for i, line := range c.policy.planned { // without a pool: few people have none
		levels[i] = max(0, c.planned().levels[line])
	}
	week, _ := c.policy.plan.CostOf(levels)
	if week > c.policy.plan.CostWeek {
		c.policy.plan.CostWeek, c.policy.costWeek = week, week
		c.plan = nil // it lasts longer
	}
	return c.policy.due()
}

// few reports whether the client is one of few people whose programme asks for
// no pool.
func (c *situation) few() bool {
	return c.in.People > 0 && c.in.People < fewPeople && c.in.Client.Pool == 0
}

// pieceCost returns what one finished piece costs the shop: blank, transfers, press.
func (c *situation) pieceCost(l *Stocked) programme.Money {
	return max(1, c.blankCost(l.sku())+l.TransferCost+c.pressCost(float64(c.presses(l))))
}

func (c *situation) blankCost(k programme.SKU) programme.Money {
	cost, _ := c.in.Shop.BlankCost(k)
	return cost
}

// presses returns how often the press closes for one piece; a garment that roles
// decorate differently counts with the most.
func (c *situation) presses(l *Stocked) int {
	n := l.Presses
	if n > 0 {
		return n
	}
	for _, k := range c.in.Client.KitLines(l.sku().Garment) {
		if k.Colour == l.sku().Colour {
			n = max(n, len(k.Decorations))
		}
	}
	return n
}

// pressHours turns presses into hours; a shop that states no rate is taken at
// 60 single-place pieces an hour (common practice, no source: 40 to 80).
func pressHours(shop *programme.Shop, presses float64) float64 {
	rate := shop.Press.PiecesPerHour
	if rate <= 0 {
		rate = 60
	}
	return presses / rate
}

func (c *situation) pressCost(presses float64) programme.Money {
	return pressingCost(c.in.Shop, presses)
}

func pressingCost(shop *programme.Shop, presses float64) programme.Money {
	return shop.Press.CostPerHour.Times(pressHours(shop, presses))
}

// hold notes the protective clothing that waits, as data and as a reason.
func (c *situation) hold(d *Decision) {
	d.Holds = c.holds()
	for _, h := range d.Holds {
		d.Reasons = append(d.Reasons, Reason{WaitsForAYes, h.SKU, float64(h.Pieces)})
	}
}

// holds returns what the same policy asks for of protective clothing, taken by itself.
func (c *situation) holds() []Hold {
	if len(c.held) == 0 {
		return nil
	}
	pol := c.newPolicy(c.held)
	if !pol.due() && !tooLow(fillOf(trigger(c.held, c.horizon)), c.in.Client.FillRate) {
		return nil
	}
	levels := pol.levels()
	share := c.coverShare(pol.lasts(levels))
	var out []Hold
	for i := range c.held {
		l := &c.held[i]
		pieces := levels[i] - l.position()
		g, ok := c.in.Shop.Garment(l.sku().Garment)
		if pieces <= 0 || !ok {
			continue
		}
		line := share(l)
		line.Order = pieces
		named, _ := c.names().share(&line, parting{endings: int(math.Round(line.Endings.Sum()))})
		out = append(out, Hold{SKU: l.sku(), Pieces: pieces, Protective: g.Protective, LabelWashes: g.LabelWashes,
			Named: named})
	}
	return out
}
