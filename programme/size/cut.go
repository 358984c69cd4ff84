package size

import (
	"regexp"
	"strings"

	"github.com/kitmuster/kitmuster/programme/clean"
)

// Cut is for whom clothes are cut; none = nothing is said of it.
type Cut string

// Cuts that have a word of their own.
const (
	Ladies Cut = "ladies"
	Mens   Cut = "mens"
)

const (
	ladies = `ladies'?|lady'?s?|women'?s?|womans|wmns|females?|w|f`
	mens   = `men'?s?|mans|males?|gents?'?|gentlemen'?s?|unisex`
)

var (
	// cutFirst: ladies M, W-12, women's XL. M and L alone are sizes, never cuts.
	cutFirst = regexp.MustCompile(`^(?i:(` + ladies + `)|` + mens + `)[\s,.:/_-]+(.+)$`)
	// cutLast: M ladies, 12 (W), XL/women.
	cutLast = regexp.MustCompile(`^(.+?)[\s,.:/_(-]+(?i:(` + ladies + `)|` + mens + `)\)?\.?$`)
	cutOnly = regexp.MustCompile(`^(?i:(` + ladies + `)|` + mens + `|m)\.?$`)
	// unsure: L-M may be ladies' M, or a size between L and M.
	unsure = regexp.MustCompile(`^(?i)([ML])[\s/-]+(\d{0,2}X*[SML]|\d{1,2})$`)
)

// PartCut parts a size as people write it, or the name of a size family, into the cut that
// it names and the rest: ladies M, M (W) and women's M are ladies' M.
func PartCut(raw string) (cut Cut, rest string) {
	s := strings.ReplaceAll(clean.Line(raw), "’", "'")
	if m := cutFirst.FindStringSubmatch(s); m != nil {
		return cutIf(m[1]), m[2]
	}
	if m := cutLast.FindStringSubmatch(s); m != nil {
		return cutIf(m[2]), m[1]
	}
	return "", s
}

// ReadCut reads the word of a cut by itself: Ladies, F, men's, M.
func ReadCut(raw string) (cut Cut, ok bool) {
	m := cutOnly.FindStringSubmatch(strings.ReplaceAll(clean.Line(raw), "’", "'"))
	if m == nil {
		return "", false
	}
	return cutIf(m[1]), true
}

func cutIf(ladies string) Cut {
	if ladies != "" {
		return Ladies
	}
	return Mens
}

// Unsure reports whether a text may be a cut and a size, or two sizes: L-M.
func Unsure(raw string) bool { return unsure.MatchString(clean.Line(raw)) }
