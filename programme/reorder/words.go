package reorder

import (
	"fmt"
	"math"
	"strings"

	"github.com/kitmuster/kitmuster/programme"
)

// Words says the reason in a sentence for the owner; name turns a line into
// what people call it.
func (r Reason) Words(name func(programme.SKU) string) string {
	switch r.Kind {
	case BelowTarget:
		return "Waiting for the next round would cost more in missing pieces than it saves."
	case AboveTarget:
		return "Waiting for the next round costs less than ordering now."
	case OwedNow:
		return fmt.Sprintf("%s of %s missing from somebody's kit today, with none on the shelf.", pieces(r.Pieces),
			name(r.SKU))
	case HandOut:
		return fmt.Sprintf("%s of %s missing from somebody's kit today, and on the shelf: hand them out.",
			pieces(r.Pieces), name(r.SKU))
	case ShortestLine:
		return fmt.Sprintf("About %s of %s would be short by then.", roughly(r.Pieces), name(r.SKU))
	case ComesTooLate:
		return fmt.Sprintf("%s of %s on order, but they come too late.", pieces(r.Pieces), name(r.SKU))
	case NothingToBuy:
		return "What is on order fills the need once it comes; nothing more is to be bought."
	case NoDemand:
		return "Nobody is expected to need anything."
	case WaitsForAYes:
		return fmt.Sprintf("%s of %s needed; protective clothing waits for a person's yes.", pieces(r.Pieces),
			name(r.SKU))
	case OrderTooSmall:
		return fmt.Sprintf("An order of %s is below the smallest one that the programme allows, and nobody is short of a piece.", pieces(r.Pieces))
	case JustOrdered:
		if r.Pieces > 0 {
			return fmt.Sprintf("The last order was meant to last longer; of what is missing, %s were struck off it by the client, and nothing else has happened since that it was not made for.", pieces(r.Pieces))
		}
		return "The last order was meant to last longer, and nothing has happened since that it was not made for."
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
	return fmt.Sprintf(", after %s for keeping the goods until then at %.3g%% of their cost a year", money(x.Kept),
		100*x.KeptPerYear)
}

// Words says what has happened since the last order; name turns a staff number
// day a date and what a line into what people read.
func (h Occurrence) Words(name func(string) string, day func(programme.Date) string,
	what func(programme.SKU) string) string {
	since := fmt.Sprintf("since the order of %s (proposal %d)", day(h.On), h.Number)
	switch h.Kind {
	case PeopleJoined:
		names := make([]string, 0, len(h.Staff))
		for _, s := range h.Staff[:min(len(h.Staff), mostNames)] {
			names = append(names, name(s))
		}
		who := strings.Join(names, ", ")
		if more := len(h.Staff) - mostNames; more > 0 {
			who += fmt.Sprintf(" and %d more", more)
		}
		return fmt.Sprintf("New %s: %s.", since, who)
	case KitsShort:
		return fmt.Sprintf("%s missing from people's kits today, which nothing on the shelf or on its way will serve, %s.",
			pieces(float64(h.Pieces)), since)
	case MoreEnded:
		of := ""
		if h.SKU != nil {
			of = " of " + what(*h.SKU)
		}
		expected := fmt.Sprintf("about %.0f were", h.Expected)
		if h.Expected < 1.5 {
			expected = "hardly one was"
		}
		return fmt.Sprintf("%s%s came to an end %s, where %s expected.", pieces(float64(h.Pieces)), of, since, expected)
	}
	return string(h.Kind)
}

// mostNames is the number of names that a sentence bears.
const mostNames = 4

// Words names the row for the owner.
func (k ChoiceKind) Words() string {
	switch k {
	case MustBe:
		return "what must be"
	case Suggested:
		return "suggested"
	case LastsLonger:
		return "lasts longer"
	case WithinMoney:
		return "for that money"
	}
	return string(k)
}
