package reorder

import (
	"fmt"
	"slices"
	"strings"

	"github.com/kitmuster/kitmuster/programme"
)

// purchase is one line on its way from what is wanted to what is bought.
type purchase struct {
	programme.SKU
	curve   Shortage
	stock   int             // position before the order
	wanted  int             // pieces the target asks for
	shelf   int             // blanks of the shelf that are used
	pack    int             // bought in multiples of it, at least 1
	list    programme.Money // price of one blank without break
	buy     int
	because []string
}

// order returns how many of the blanks are pressed for the client: what is
// wanted. A decorated piece fits one client alone; what packs and terms bring
// beyond it keeps its worth as a blank.
func (p *purchase) order() int { return min(p.shelf+p.buy, p.wanted) }

// nextWorth returns the expected shortage that one more pack takes away per unit of money.
func (p *purchase) nextWorth() float64 {
	level := p.stock + p.shelf + p.buy
	return worth(p.curve.At(level)-p.curve.At(level+p.pack), float64(p.list)*float64(p.pack))
}

// useful reports whether more of the line could be pressed for the client.
func (p *purchase) useful() bool { return p.buy > 0 || p.oneMoreCover() > 0 }

// oneMoreCover returns the expected demand of another horizon in whole pieces.
func (p *purchase) oneMoreCover() int { return int(p.curve.Mean() + 1e-9) }

// toPacks buys what the shelf does not give, in whole packs.
func (p *purchase) toPacks() {
	missing := p.wanted - p.shelf
	p.buy = (missing + p.pack - 1) / p.pack * p.pack
	if p.buy > missing {
		p.because = append(p.because, fmt.Sprintf("sold in packs of %d", p.pack))
	}
}

// buying fits the purchases of one proposal to what suppliers sell.
type buying struct {
	shop  *programme.Shop
	along Alongside
	lines []purchase
	// carriage is its part of each supplier's freight in a settled round, which
	// adds up with the others' to the cent; nil = its part by value.
	carriage map[string]programme.Money
}

// toPacks rounds every line to whole packs.
func (b *buying) toPacks() {
	for i := range b.lines {
		b.lines[i].toPacks()
	}
}

// note remembers a reason once; the slice is copied, since trials share it.
func (p *purchase) note(why string) {
	if slices.Contains(p.because, why) {
		return
	}
	p.because = append(append([]string(nil), p.because...), why)
}

// words says in one sentence why the order is not just what is wanted.
func (p *purchase) words() string {
	why := strings.Join(p.because, "; ")
	if rest := p.shelf + p.buy - p.order(); rest > 0 {
		stay := fmt.Sprintf("%d stay blank on the shelf", rest)
		if rest == 1 {
			stay = "1 stays blank on the shelf"
		}
		if why == "" {
			return stay
		}
		why += "; " + stay
	}
	return why
}
