package wear

import (
	"fmt"
	"strings"
)

// Plus adds the evidence of two classes up.
func (e Evidence) Plus(o Evidence) Evidence {
	for c, n := range o.Each() {
		*e.At(c) += n
	}
	e.InService, e.Unexplained, e.Other = e.InService+o.InService, e.Unexplained+o.Unexplained, e.Other+o.Other
	e.Counted, e.HandedOver, e.Assumed, e.Ageless = e.Counted+o.Counted, e.HandedOver+o.HandedOver, e.Assumed+o.Assumed,
		e.Ageless+o.Ageless
	return e
}

// Recorded returns how many endings somebody wrote down.
func (e Evidence) Recorded() int { return max(0, e.Replaced()-e.Counted-e.HandedOver) }

// Brief is Words for a place with little room.
func (e Evidence) Brief() string {
	if e.Replaced() == 1 {
		return "1 ending"
	}
	out := fmt.Sprintf("%d endings", e.Replaced())
	if e.Counted > 0 {
		out += fmt.Sprintf(", %d counted", e.Counted)
	}
	if e.HandedOver > 0 {
		out += fmt.Sprintf(", %d handed over", e.HandedOver)
	}
	return out
}

// Words says on what a figure rests: endings by how they came to be known, and
// what is only assumed.
func (e Evidence) Words() string {
	var parts []string
	say := func(n int, one, many string) {
		switch {
		case n == 1:
			parts = append(parts, one)
		case n > 1:
			parts = append(parts, fmt.Sprintf(many, n))
		}
	}
	say(e.Recorded(), "1 recorded ending", "%d recorded endings")
	say(e.Counted, "1 found missing at a count", "%d found missing at counts")
	say(e.HandedOver, "1 read from a hand-over beyond the kit", "%d read from hand-overs beyond the kit")
	out := strings.Join(parts, ", ")
	if out == "" {
		out = "no endings yet"
	}
	switch {
	case e.Assumed > 0 && e.Assumed >= e.InService:
		out += "; all pieces in service are only assumed to be there, or to be of their age"
	case e.Assumed > 0:
		out += fmt.Sprintf("; %d of %d pieces in service are only assumed to be there, or to be of their age",
			e.Assumed, e.InService)
	}
	if e.Ageless > 0 {
		out += fmt.Sprintf("; %d endings of pieces whose age is only assumed teach nothing about how long pieces last",
			e.Ageless)
	}
	return out
}
