package reorder

import "github.com/kitmuster/kitmuster/programme"

// Listed is a row of the list that came back: pieces for one person or, with no
// staff number, for the pool.
type Listed struct {
	programme.SKU
	StaffID string
	Pieces  int
}

// Relist sets the pieces that a list names, for whom it names them. Lines and
// people that the list leaves out get nothing. It returns whom it takes pieces
// from; with an error nothing is changed.
func (p *Proposal) Relist(shop *programme.Shop, client *programme.Client, rows []Listed) ([]Without, error) {
	total := map[programme.SKU]int{}
	var list []LineChange
	for i := range p.Lines {
		total[p.Lines[i].SKU] = 0
		list = append(list, LineChange{SKU: p.Lines[i].SKU})
	}
	mine := map[Listed]int{}
	for _, r := range rows {
		if _, seen := total[r.SKU]; !seen {
			list = append(list, LineChange{SKU: r.SKU})
		}
		total[r.SKU] += r.Pieces
		mine[Listed{SKU: r.SKU, StaffID: r.StaffID}] += r.Pieces
	}
	var changed []LineChange
	for _, c := range list {
		c.Pieces = total[c.SKU]
		if l := p.Line(c.SKU); l == nil || l.Order != c.Pieces {
			changed = append(changed, c)
		}
	}
	before, starters := append([]Named(nil), p.Named...), map[programme.SKU]int{}
	for i := range p.Pool { // Change takes from the pool first, but the list says what of a line is the pool's
		starters[p.Pool[i].SKU] = p.Pool[i].ForStarters
	}
	if _, err := p.Change(shop, client, changed); err != nil {
		return nil, err
	}
	p.rename(before, starters, rows, mine)
	var out []Without
	for _, n := range before {
		if has := mine[Listed{SKU: n.SKU, StaffID: n.StaffID}]; has < n.Pieces {
			out = append(out, Without{Named: n, Pieces: n.Pieces - has})
		}
	}
	return out, nil
}

// rename makes the people of the list those that the pieces are for. Who was
// named before keeps the reason; who is added is short of a piece by the word of
// the customer.
func (p *Proposal) rename(before []Named, starters map[programme.SKU]int, rows []Listed, mine map[Listed]int) {
	p.Named = nil
	named := map[programme.SKU]int{}
	add := func(n Named, pieces int) {
		if pieces > 0 {
			n.Pieces = pieces
			p.Named = append(p.Named, n)
			named[n.SKU] += pieces
		}
	}
	seen := map[Listed]bool{}
	for _, n := range before {
		k := Listed{SKU: n.SKU, StaffID: n.StaffID}
		if !seen[k] {
			seen[k] = true
			add(n, mine[k])
		}
	}
	for _, r := range rows {
		k := Listed{SKU: r.SKU, StaffID: r.StaffID}
		if r.StaffID != "" && !seen[k] {
			seen[k] = true
			add(Named{StaffID: r.StaffID, SKU: r.SKU, Why: programme.CauseOwed, PEnd: 1}, mine[k])
		}
	}
	for i := range p.Lines {
		pool := p.poolOf(p.Lines[i].SKU)
		left := p.Lines[i].Order - named[p.Lines[i].SKU]
		pool.ForStarters = min(starters[pool.SKU], left)
		pool.Spare = left - pool.ForStarters
	}
}
