// Package size reads clothing sizes as people write them: x-large, XXL, 2X, Lg,
// 42/32. It knows the ways of writing one size and never turns one size into
// another: what could mean two of them is refused.
package size

import (
	"regexp"
	"strconv"
	"strings"

	"github.com/kitmuster/kitmuster/programme/clean"
)

// letters are the ways of writing the sizes between S and L; how many X stand
// before them is counted apart.
var letters = map[string]string{
	"S": "S", "SM": "S", "SML": "S", "SMALL": "S",
	"M": "M", "MD": "M", "MED": "M", "MEDIUM": "M",
	"L": "L", "LG": "L", "LRG": "L", "LGE": "L", "LARGE": "L",
}

var (
	// crosses: XL, X-Large, XXL, 2XL, 2X, 3 XL, Extra Large, XXS.
	crosses = regexp.MustCompile(`^(?:(\d{1,2})X|(X+)|(EXTRA))(S|SM|SML|SMALL|L|LG|LRG|LGE|LARGE)?$`)
	// tall and long suffixes stay: LT, XLT, 2XLT, Large Tall.
	tall = regexp.MustCompile(`^(.+?)(T|TALL)$`)
	// pair: waist and inseam, 42/32, 42x32, W42 L32, 42W 32L.
	pair = regexp.MustCompile(`^W?(\d{2})W?(?:[/X]|L|IN)?L?(\d{2})(?:L|IN)?$`)
	// plainPair needs a sign or letter between the two numbers.
	pairMark = regexp.MustCompile(`\d\D+\d`)
	// fraction: head sizes 7 1/4, 7-1/4, 7.25.
	fraction = regexp.MustCompile(`^(\d{1,2})[ -](\d)/(\d)$`)
	decimal  = regexp.MustCompile(`^(\d{1,3})\.(\d{1,3})$`)
	number   = regexp.MustCompile(`^\d{1,3}$`)
)

var oneSize = map[string]bool{"ONE": true, "ONESIZE": true, "OS": true, "OSFA": true, "OSFM": true,
	"ONESIZEFITSALL": true, "ONESIZEFITSMOST": true, "UNIVERSAL": true, "1SIZE": true}

// Canonical returns the one way in which the program compares a size: XS, S, M,
// L, XL, 2XL, 3XL, ..., XLT, 42/32, 7 1/4, ONE. ok is false for what is no
// known way of writing a size; the text then comes back in capitals.
//
// 1X is left alone, since women's plus sizes use it for a size of its own, and
// so are X and XX without a letter.
func Canonical(raw string) (code string, ok bool) {
	s := strings.ToUpper(clean.Line(raw))
	s = strings.TrimSuffix(s, ".")
	if m := fraction.FindStringSubmatch(s); m != nil {
		whole, ok := counted(m[1])
		return whole + " " + m[2] + "/" + m[3], ok
	}
	if m := decimal.FindStringSubmatch(s); m != nil {
		return fromDecimal(m[1], m[2])
	}
	tight := strings.NewReplacer(" ", "", "-", "", "_", "", ".", "", "(", "", ")", "", `"`, "").Replace(s)
	switch {
	case oneSize[tight]:
		return "ONE", true
	case number.MatchString(tight) && !pairMark.MatchString(s):
		return counted(tight)
	}
	if code, ok := lettered(tight); ok {
		return code, true
	}
	if m := tall.FindStringSubmatch(tight); m != nil {
		if code, ok := lettered(m[1]); ok {
			return code + "T", true
		}
	}
	if m := pair.FindStringSubmatch(strings.NewReplacer(" ", "", "-", "/", "×", "X", `"`, "").Replace(s)); m != nil &&
		pairMark.MatchString(s) {
		return m[1] + "/" + m[2], true
	}
	if code, ok := doubled(s); ok {
		return code, true
	}
	return s, false
}

// doubled reads one size that is written in two ways, such as 2XL / XXL or L (Large).
func doubled(s string) (code string, ok bool) {
	parts := strings.FieldsFunc(s, func(r rune) bool { return strings.ContainsRune("/()=,;|", r) })
	for _, p := range parts {
		c, ok := lettered(strings.NewReplacer(" ", "", "-", "", ".", "").Replace(p))
		if !ok || code != "" && c != code {
			return "", false
		}
		code = c
	}
	return code, len(parts) > 1
}

// lettered reads S, M, L and what stands beyond them.
func lettered(s string) (string, bool) {
	if code, ok := letters[s]; ok {
		return code, true
	}
	m := crosses.FindStringSubmatch(s)
	if m == nil {
		return "", false
	}
	count := len(m[2])
	if m[3] != "" {
		count = 1
	}
	if m[1] != "" {
		count, _ = strconv.Atoi(m[1])
	}
	if m[4] == "" && (m[1] == "" || count < 2) {
		return "", false // X, XX, 1X: said by nobody in one way
	}
	end := "L"
	if m[4] != "" {
		end = letters[m[4]]
	}
	if m[1] == "1" || count == 0 || count > 12 {
		return "", false
	}
	if count == 1 {
		return "X" + end, true
	}
	return strconv.Itoa(count) + "X" + end, true
}

var fractions = map[string]string{"125": "1/8", "25": "1/4", "250": "1/4", "375": "3/8", "5": "1/2", "50": "1/2",
	"500": "1/2", "625": "5/8", "75": "3/4", "750": "3/4", "875": "7/8"}

// fromDecimal writes eighths as fractions, since hats are sold so, and drops
// an empty fraction that a spreadsheet added.
func fromDecimal(whole, part string) (string, bool) {
	whole, ok := counted(whole)
	if strings.Trim(part, "0") == "" {
		return whole, ok
	}
	f, known := fractions[part]
	return whole + " " + f, ok && known
}

// counted drops leading zeros, except that 0 and 00 are sizes of their own
// where women's trousers are sold by number: those only a chart can tell.
func counted(digits string) (string, bool) {
	if n := strings.TrimLeft(digits, "0"); n != "" {
		return n, true
	}
	return digits, false
}
