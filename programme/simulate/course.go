package simulate

import (
	"fmt"
	"maps"
	"math"
	"math/rand/v2"
	"slices"
	"strings"

	"gonum.org/v1/gonum/stat/distuv"

	"github.com/kitmuster/kitmuster/programme"
)

// member is a person with what he or she holds, by line of the kit.
type member struct {
	person programme.Person
	racks  []rack
}

// need is a person's wish for one piece, known to the shop since a date.
type need struct {
	who   *member
	rack  int
	since programme.Date // when the shop could know
	first bool           // part of a first kit
	after int            // days that the habit of the house lets pass
}

// Course is the true history of one client as it unfolds.
type Course struct {
	shop     *programme.Shop
	client   *programme.Client
	truth    Truth
	rng      *rand.Rand // people: hires, leavers, sizes
	lives    *rand.Rand // pieces: how long each lasts, and what is written down of it
	recorded float64    // share of endings written down when they happen
	today    programme.Date
	staff    []*member // active, in order of their numbers
	left     []programme.Person
	number   int
	ledger   []programme.Movement
	inOrder  int // rows of the ledger that are in order of days
	wanted   []need
	ended    []ending // scratch
}

const daysPerYear = 365.25

// newCourse staffs a client on a day; everybody's kit is still to be issued.
func newCourse(shop *programme.Shop, c *programme.Client, truth Truth, recorded float64, start programme.Date,
	rng *rand.Rand) *Course {
	return &Course{shop: shop, client: c, truth: truth, rng: rng, recorded: recorded, today: start, lives: rng}
}

// hire adds a person in a role and wants the whole kit.
func (c *Course) hire(role *programme.Role, site string, start, shopKnows programme.Date) {
	c.number++
	m := &member{person: programme.Person{
		StaffID: fmt.Sprintf("%s%03d", prefix(c.client.Code), c.number), Name: drawName(c.rng),
		Role: role.Code, Site: site, Start: start, Sizes: c.drawSizes(),
	}}
	for i := range role.Kit {
		line := &role.Kit[i]
		g, _ := c.shop.Garment(line.Garment)
		m.racks = append(m.racks, rack{line: line, family: g.SizeFamily,
			sku:          programme.SKU{Garment: g.Code, Colour: line.Colour, Size: sizeOf(g, m.person.Sizes)},
			wearsPerWash: g.WearsPerWash})
		for range line.Each {
			c.wanted = append(c.wanted, need{who: m, rack: i, since: shopKnows, first: true})
		}
	}
	c.staff = append(c.staff, m)
}

// prefix returns the letters in front of a staff number.
func prefix(client string) string {
	if len(client) < 2 {
		return "S"
	}
	return string([]byte{client[0] - 'a' + 'A', client[1] - 'a' + 'A'})
}

// sizeOf returns the person's size of a garment: of one-size garments the only
// one, of others the person's size of that family or the nearest that exists.
func sizeOf(g *programme.Garment, sizes map[string]string) string {
	want := sizes[g.SizeFamily]
	if _, ok := g.Size(want); ok {
		return want
	}
	if want == "XS" || len(g.Sizes) == 1 {
		return g.Sizes[0].Code
	}
	return g.Sizes[len(g.Sizes)-1].Code
}

func (c *Course) drawSizes() map[string]string {
	sizes := map[string]string{}
	for _, family := range c.families() {
		sizes[family] = drawShare(c.truth.SizeMix[family], c.rng)
	}
	return sizes
}

// families returns the size families of the client's kits that have a mix, sorted.
func (c *Course) families() []string {
	seen := map[string]bool{}
	for i := range c.client.Roles {
		for _, line := range c.client.Roles[i].Kit {
			g, _ := c.shop.Garment(line.Garment)
			if len(c.truth.SizeMix[g.SizeFamily]) > 0 {
				seen[g.SizeFamily] = true
			}
		}
	}
	return slices.Sorted(maps.Keys(seen))
}

func drawShare(mix []programme.SizeShare, rng *rand.Rand) string {
	sum := 0.0
	for _, s := range mix {
		sum += s.Share
	}
	at := rng.Float64() * sum
	for _, s := range mix {
		if at -= s.Share; at < 0 {
			return s.Size
		}
	}
	return mix[len(mix)-1].Size
}

// issue hands a new piece to a person and writes it down.
func (c *Course) issue(n need, on programme.Date) {
	r := &n.who.racks[n.rack]
	r.pieces = append(r.pieces, c.newPiece(r.line, on))
	c.write(programme.Movement{Date: on, Kind: programme.Issued, StaffID: n.who.person.StaffID, SKU: r.sku, Pieces: 1})
}

func (c *Course) newPiece(line *programme.KitLine, on programme.Date) piece {
	p := piece{issued: on, life: Draw(c.truth.Fabric[line.Garment], c.lives), cause: programme.Worn}
	for _, d := range line.Decorations {
		if l, ends := c.truth.Print[d.Artwork]; ends {
			if x := Draw(l, c.lives); x < p.life {
				p.life, p.cause = x, programme.Print
			}
		}
	}
	if label, ok := c.truth.Label[line.Garment]; ok && label < p.life {
		p.life, p.cause = label, programme.Worn
	}
	const century = 36525
	days := min(century, c.lives.ExpFloat64()/c.truth.MishapPerYear*daysPerYear)
	p.mishap = on.Add(1 + int(days))
	p.damaged = c.lives.Float64() < 0.6
	return p
}

// write adds a row; rows of one day, person, piece and kind are written as one.
func (c *Course) write(m programme.Movement) {
	if n := len(c.ledger); n > 0 && m.Kind != programme.Counted {
		last := &c.ledger[n-1]
		if last.Date == m.Date && last.Kind == m.Kind && last.StaffID == m.StaffID && last.SKU == m.SKU &&
			last.Reason == m.Reason {
			last.Pieces += m.Pieces
			return
		}
	}
	c.ledger = append(c.ledger, m)
}

// wearOn lets days pass: pieces wear, people leave, some change size, new ones
// come. It leaves what is wanted in c.wanted and hands nothing out.
func (c *Course) wearOn(days int) {
	from, to := c.today, c.today.Add(days)
	years := float64(days) / daysPerYear
	remaining := c.staff[:0]
	for _, m := range c.staff {
		leaves := m.person.Start < to && c.rng.Float64() < 1-math.Exp(-c.truth.LeavePerYear*years)
		last := to
		if leaves {
			last = max(m.person.Start+1, from.Add(1+c.rng.IntN(days)))
		}
		c.wearMember(m, max(from, m.person.Start), last)
		switch {
		case leaves:
			c.leave(m, last)
			continue
		case c.rng.Float64() < 1-math.Exp(-c.truth.ResizePerYear*years):
			c.resize(m, to)
		}
		remaining = append(remaining, m)
	}
	c.staff = remaining
	c.today = to
	c.takeOn(from, to)
}

func (c *Course) wearMember(m *member, from, to programme.Date) {
	for i := range m.racks {
		r := &m.racks[i]
		c.ended = r.wear(from, to, c.ended[:0])
		for _, e := range c.ended {
			if c.lives.Float64() >= c.recorded {
				r.hidden++
				continue
			}
			c.write(programme.Movement{Date: e.on, Kind: programme.Ended, StaffID: m.person.StaffID, SKU: r.sku,
				Pieces: 1, Reason: e.reason})
			c.want(m, i, e.on)
		}
	}
}

// want asks for a replacement; the house takes a while to act on it.
func (c *Course) want(m *member, rack int, known programme.Date) {
	c.wanted = append(c.wanted, need{who: m, rack: rack, since: known, after: 3 + c.lives.IntN(11)})
}

// leave takes back what the person still holds. What should be there and is
// not is shown by a count of none on the last day: nobody wrote down when it ended.
func (c *Course) leave(m *member, on programme.Date) {
	m.person.End = on
	for i := range m.racks {
		c.takeBack(m, i, on, programme.LeftReason)
	}
	c.left = append(c.left, m.person)
	c.drop(func(n need) bool { return n.who == m })
}

// resize gives a person the next size up or down in one family; pieces of the
// old size are handed back.
func (c *Course) resize(m *member, on programme.Date) {
	families := c.families()
	if len(families) == 0 {
		return
	}
	family := families[c.rng.IntN(len(families))]
	m.person.Sizes[family] = c.neighbour(family, m.person.Sizes[family])
	for i := range m.racks {
		r := &m.racks[i]
		g, _ := c.shop.Garment(r.line.Garment)
		size := sizeOf(g, m.person.Sizes)
		if r.family != family || size == r.sku.Size {
			continue
		}
		n := c.takeBack(m, i, on, programme.SizeChange)
		r.sku.Size = size
		for range n {
			c.want(m, i, on)
		}
	}
}

// takeBack ends all pieces of a line and returns how many there were.
func (c *Course) takeBack(m *member, rack int, on programme.Date, reason programme.Reason) int {
	r := &m.racks[rack]
	n := len(r.pieces)
	if n > 0 {
		c.write(programme.Movement{Date: on, Kind: programme.Ended, StaffID: m.person.StaffID, SKU: r.sku, Pieces: n,
			Reason: reason})
	}
	r.pieces = nil
	if r.hidden > 0 {
		c.count(m, rack, on)
	}
	return n
}

func (c *Course) neighbour(family, size string) string {
	mix := c.truth.SizeMix[family]
	for i := range mix {
		if mix[i].Size != size {
			continue
		}
		if i+1 < len(mix) && (i == 0 || c.rng.Float64() < 0.6) {
			return mix[i+1].Size
		}
		return mix[max(i-1, 0)].Size
	}
	return size
}

// count writes down what a person holds and turns what was hidden into needs.
func (c *Course) count(m *member, rack int, on programme.Date) {
	r := &m.racks[rack]
	if len(r.pieces)+r.hidden == 0 {
		return
	}
	c.ledger = append(c.ledger, programme.Movement{Date: on, Kind: programme.Counted, StaffID: m.person.StaffID,
		SKU: r.sku, Pieces: len(r.pieces)})
	for range r.hidden {
		c.want(m, rack, on)
	}
	r.hidden = 0
}

// countAll is the muster of everybody who was there the week before.
func (c *Course) countAll() {
	for _, m := range c.staff {
		if m.person.Start > c.today.Add(-7) {
			continue
		}
		for i := range m.racks {
			c.count(m, i, c.today)
		}
	}
}

// takeOn hires as the season of the first day goes.
func (c *Course) takeOn(from, to programme.Date) {
	season := c.truth.Months[from.Time().Month()-1]
	for i := range c.client.Roles {
		role := &c.client.Roles[i]
		mean := c.truth.HiresPerYear[role.Code] * season * float64(to.Sub(from)) / daysPerYear
		if mean <= 0 {
			continue
		}
		for range int(distuv.Poisson{Lambda: mean, Src: c.rng}.Rand()) {
			start := from.Add(1 + c.rng.IntN(to.Sub(from)))
			c.hire(role, c.site(), start, start)
		}
	}
}

// site picks the site of somebody already there, so that sites keep their share.
func (c *Course) site() string {
	if len(c.staff) == 0 {
		return ""
	}
	return c.staff[c.rng.IntN(len(c.staff))].person.Site
}

func (c *Course) drop(gone func(need) bool) {
	kept := c.wanted[:0]
	for _, n := range c.wanted {
		if !gone(n) {
			kept = append(kept, n)
		}
	}
	c.wanted = kept
}

// Roster returns everybody who ever worked there, by number.
func (c *Course) Roster() []programme.Person {
	all := slices.Clone(c.left)
	for _, m := range c.staff {
		all = append(all, m.person)
	}
	slices.SortFunc(all, func(a, b programme.Person) int { return strings.Compare(a.StaffID, b.StaffID) })
	return all
}
