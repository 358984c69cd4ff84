package programme

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// Money is an amount in hundredths of the shop's currency. Amounts are added
// and multiplied as whole numbers; only Times rounds, half away from zero.
type Money int64

// ParseMoney reads a decimal with at most two places and a point: 4.10, 12, -3.5.
func ParseMoney(s string) (Money, error) {
	t := strings.TrimSpace(s)
	neg := strings.HasPrefix(t, "-")
	whole, frac, _ := strings.Cut(strings.TrimPrefix(t, "-"), ".")
	if whole == "" || len(whole) > 12 || len(frac) > 2 || !digits(whole) || !digits(frac) {
		return 0, fmt.Errorf("%q is not an amount; write it with a point and at most two places, such as 4.10", s)
	}
	v, _ := strconv.ParseInt(whole+(frac + "00")[:2], 10, 64)
	if neg {
		v = -v
	}
	return Money(v), nil
}

func digits(s string) bool {
	return strings.IndexFunc(s, func(r rune) bool { return r < '0' || r > '9' }) < 0
}

// Times returns m times x, rounded to the hundredth, half away from zero.
func (m Money) Times(x float64) Money { return Money(math.Round(float64(m) * x)) }

// Float returns the amount in whole units, for pictures and ratios only.
func (m Money) Float() float64 { return float64(m) / 100 }

// Decimal writes the amount with a point and two places, as files want it.
func (m Money) Decimal() string {
	sign := ""
	if m < 0 {
		sign, m = "-", -m
	}
	return fmt.Sprintf("%s%d.%02d", sign, m/100, m%100)
}

// currencySigns are the signs that a reader of that currency expects in front;
// a code without one is written out, so no amount is ever ambiguous.
var currencySigns = map[string]string{"USD": "$", "CAD": "CA$", "AUD": "A$", "NZD": "NZ$", "GBP": "£", "EUR": "€"}

// wholeUnits are the currencies without a smaller unit (ISO 4217, minor unit 0).
var wholeUnits = map[string]bool{
	"BIF": true, "CLP": true, "DJF": true, "GNF": true, "ISK": true, "JPY": true, "KMF": true, "KRW": true, "PYG": true,
	"RWF": true, "UGX": true, "UYI": true, "VND": true, "VUV": true, "XAF": true, "XOF": true, "XPF": true,
}

// In writes the amount for people, with its currency: $1,234.50, €12.00,
// CHF 8.00, JPY 1,235. Where a currency has no smaller unit it is rounded to the
// whole one, half away from zero.
func (m Money) In(currency string) string {
	sign, ok := currencySigns[currency]
	if !ok {
		sign = currency + " "
	}
	minus := ""
	if m < 0 {
		minus, m = "−", -m
	}
	if wholeUnits[currency] {
		m = (m + 50) / 100 * 100
		if m == 0 {
			minus = ""
		}
		return minus + sign + thousands(int64(m/100))
	}
	return minus + sign + thousands(int64(m/100)) + fmt.Sprintf(".%02d", m%100)
}

// About writes an amount that is only expected, to two digits and in whole units:
// about $57, about $1,200, less than $1.
func (m Money) About(currency string) string {
	if m < 100 {
		return "less than " + strings.TrimSuffix(Money(100).In(currency), ".00")
	}
	unit := Money(100)
	for m >= 100*unit {
		unit *= 10
	}
	return "about " + strings.TrimSuffix(((m+unit/2)/unit*unit).In(currency), ".00")
}

func thousands(n int64) string {
	s := strconv.FormatInt(n, 10)
	for i := len(s) - 3; i > 0; i -= 3 {
		s = s[:i] + "," + s[i:]
	}
	return s
}

// Plain writes the amount as a list has it that people open in a spreadsheet: with a
// point and two places and no currency, or as a whole number where the currency has
// no smaller unit, rounded half away from zero.
func (m Money) Plain(currency string) string {
	if !wholeUnits[currency] {
		return m.Decimal()
	}
	if m < 0 {
		return strconv.FormatInt(int64((m-50)/100), 10)
	}
	return strconv.FormatInt(int64((m+50)/100), 10)
}

// MarshalJSON writes the amount as a decimal text, so no reader loses cents.
func (m Money) MarshalJSON() ([]byte, error) { return []byte(`"` + m.Decimal() + `"`), nil }

// UnmarshalJSON reads what MarshalJSON writes.
func (m *Money) UnmarshalJSON(b []byte) error {
	v, err := ParseMoney(strings.Trim(string(b), `"`))
	*m = v
	return err
}
