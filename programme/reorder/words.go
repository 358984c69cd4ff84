package reorder

import (
	"fmt"
	"math"

	"github.com/kitmuster/kitmuster/programme"
)

// Words says the reason in a sentence for the owner; name turns a line into
// what people call it.
func (r Reason) Words(name func(programme.SKU) string) string {
	switch r.Kind {
	case BelowTarget:
		return "What is on the shelf and on its way does not last until an order placed at the next round would arrive."
	case AboveTarget:
		return "What is on the shelf and on its way lasts until an order placed at the next round would arrive."
	case OwedNow:
		return fmt.Sprintf("%s of %s missing from somebody's kit today, with none on the shelf.", pieces(r.Pieces), name(r.SKU))
	case HandOut:
		return fmt.Sprintf("%s of %s missing from somebody's kit today, and on the shelf: hand them out.", pieces(r.Pieces), name(r.SKU))
	case ShortestLine:
		return fmt.Sprintf("About %s of %s would be short by then.", roughly(r.Pieces), name(r.SKU))
	case ComesTooLate:
		return fmt.Sprintf("%s of %s on order, but they come too late.", pieces(r.Pieces), name(r.SKU))
	case NothingToBuy:
		return "What is on order fills the need once it comes; nothing more is to be bought."
	case NoDemand:
		return "Nobody is expected to need anything."
	case WaitsForAYes:
		return fmt.Sprintf("%s of %s needed; protective clothing waits for a person's yes.", pieces(r.Pieces), name(r.SKU))
	case PulledForward:
		return "Not due yet, but ordering with the others of this round costs less."
	}
	return string(r.Kind)
}

func pieces(n float64) string {
	if math.Round(n) == 1 {
		return "1 piece"
	}
	return fmt.Sprintf("%.0f pieces", n)
}

// roughly keeps one place where a whole number would say nothing.
func roughly(n float64) string {
	if n < 2 {
		return fmt.Sprintf("%.1f pieces", n)
	}
	return pieces(n)
}

// Words end a sentence that states the saving: what keeping the goods has
// taken off it. There are none where that costs nothing.
func (x *Pulled) Words(money func(programme.Money) string) string {
	if x.KeptPerYear == 0 {
		return ""
	}
	return fmt.Sprintf(", after %s for keeping the goods until then at %.3g%% of their cost a year", money(x.Kept), 100*x.KeptPerYear)
}
