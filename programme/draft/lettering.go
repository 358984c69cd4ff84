package draft

import (
	"fmt"
	"math"
	"strings"
	"unicode/utf8"

	"github.com/kitmuster/kitmuster/programme"
)

// Rules of thumb of sign makers (common practice, no source): an inch of letter
// height reads comfortably from 10 ft and can just be made out from 30 ft; a
// plain capital takes about 0.7 of its height in width, with its gap.
const (
	comfortable   = 10 * 12 // inches of distance for an inch of height
	justRead      = 30 * 12
	letterWidth   = 0.7
	lineSpacing   = 1.4
	tallestLetter = 2.0 // inches; more shouts on a back
)

// backWidth is the width of the art on a full back.
const backWidth = 11 * programme.Inch

// LetterHeight returns the height of capitals that read comfortably from a distance.
func LetterHeight(distance programme.Length) programme.Length { return distance / comfortable }

// backLine is one line of a back print with the height its letters get.
type backLine struct {
	text string
	high float64 // inches
}

// backLines sets each line as tall as the width allows.
func (in *Intake) backLines() []backLine {
	var lines []backLine
	for _, s := range []string{in.Name, in.Services, in.Telephone, in.Area} {
		if n := utf8.RuneCountInString(s); n > 0 {
			high := math.Min(tallestLetter, backWidth.Inches()/(letterWidth*float64(n)))
			lines = append(lines, backLine{strings.ToUpper(s), math.Floor(high*8) / 8})
		}
	}
	return lines
}

func (in *Intake) backMark() mark {
	high := 0.0
	for _, l := range in.backLines() {
		high += l.high * lineSpacing
	}
	quarters := programme.Length(math.Ceil(math.Max(high, 3) * 4))
	return mark{place: "full-back", suffix: "back", wide: backWidth, high: quarters * quarterInch,
		also: []string{"back"}}
}

// printing returns sentences: what to print where, and from how far it will be read.
func (in *Intake) printing(units programme.Units) []string {
	if in.Work.Place != programme.Mobile {
		return []string{"A fixed place: the mark alone, on the left chest; the place itself says the rest. Telephone numbers and lists of services only date."}
	}
	says := []string{"A mobile crew is its own sign: the mark on the left chest, and on the back what a passer-by should remember. Letter heights are rules of thumb: plain capitals, dark on light or light on dark."}
	wide := onRuler(units, backWidth, 5*programme.Millimetre)
	for _, l := range in.backLines() {
		high := onRuler(units, programme.Length(l.high*float64(programme.Inch)), programme.Millimetre)
		says = append(says,
			fmt.Sprintf("%q can stand %s high across %s: read comfortably from %s, just made out from %s.",
				l.text, units.Length(high), units.Length(wide), afar(high*comfortable, units),
				afar(high*justRead, units)))
	}
	for _, missing := range []struct{ text, what string }{{in.Services, "services"}, {in.Telephone, "telephone"},
		{in.Area, "area"}} {
		if missing.text == "" {
			says = append(says, "The sheet gives no "+missing.what+" for the back; ask.")
		}
	}
	across := onRuler(units, LetterHeight(30*12*programme.Inch), programme.Millimetre)
	return append(says, fmt.Sprintf("To be read from across a street (%s) a line wants letters of about %s.",
		afar(30*12*programme.Inch, units), units.Length(across)))
}

// afar writes a distance for people, in feet or metres.
func afar(l programme.Length, units programme.Units) string {
	if units.Metric() {
		return fmt.Sprintf("%.0f m", l.Millimetres()/1000)
	}
	return fmt.Sprintf("%.0f ft", l.Inches()/12)
}
