package programme

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// Length is a length in micrometres: an inch is exactly 25 400 of them.
type Length int64

// Units of length.
const (
	Micrometre Length = 1
	Millimetre Length = 1000
	Centimetre Length = 10 * Millimetre
	Inch       Length = 25400
)

// Millimetres returns the length in millimetres.
func (l Length) Millimetres() float64 { return float64(l) / float64(Millimetre) }

// Inches returns the length in inches.
func (l Length) Inches() float64 { return float64(l) / float64(Inch) }

// ParseLength reads a number with its unit: 3.5in, 3.5", 90mm, 9cm. A number
// without a unit is refused, since guessing between inches and millimetres
// would spoil a sheet.
func ParseLength(s string) (Length, error) {
	num, unit := splitUnit(s)
	scale, ok := map[string]Length{"in": Inch, "inch": Inch, "inches": Inch, `"`: Inch, "mm": Millimetre, "cm": Centimetre, "m": 1000 * Millimetre}[strings.ToLower(unit)]
	v, err := strconv.ParseFloat(num, 64)
	if err != nil || !ok || math.IsNaN(v) || v < 0 || v*float64(scale) > 1e12 {
		return 0, fmt.Errorf("%q is not a length; write a number with its unit, such as 3.5in or 90mm", s)
	}
	return Length(math.Round(v * float64(scale))), nil
}

// Temperature is a temperature in degrees Celsius.
type Temperature float64

// Fahrenheit returns the temperature in degrees Fahrenheit.
func (t Temperature) Fahrenheit() float64 { return float64(t)*9/5 + 32 }

// ParseTemperature reads 320F or 160C.
func ParseTemperature(s string) (Temperature, error) {
	num, unit := splitUnit(s)
	v, err := strconv.ParseFloat(num, 64)
	if err == nil && !math.IsNaN(v) && !math.IsInf(v, 0) {
		switch strings.ToUpper(strings.TrimPrefix(unit, "°")) {
		case "C":
			return Temperature(v), nil
		case "F":
			return Temperature((v - 32) * 5 / 9), nil
		}
	}
	return 0, fmt.Errorf("%q is not a temperature; write a number with its unit, such as 320F or 160C", s)
}

// Units is how a shop reads lengths and temperatures.
type Units string

// The two systems of units a shop may read in.
const (
	Inches      Units = "inches"
	Millimetres Units = "millimetres"
)

// Length writes l in the shop's unit: "3.5 in" or "89 mm".
func (u Units) Length(l Length) string {
	if u == Millimetres {
		return strconv.FormatFloat(math.Round(l.Millimetres()*10)/10, 'f', -1, 64) + " mm"
	}
	return strconv.FormatFloat(math.Round(l.Inches()*100)/100, 'f', -1, 64) + " in"
}

// Suffix is the shop's unit as it stands behind a number or in a heading.
func (u Units) Suffix() string {
	if u == Millimetres {
		return "mm"
	}
	return "in"
}

// Bare writes l in the shop's unit to a thousandth, without the unit.
func (u Units) Bare(l Length) string {
	v := l.Inches()
	if u == Millimetres {
		v = l.Millimetres()
	}
	return strconv.FormatFloat(math.Round(v*1000)/1000, 'f', -1, 64)
}

// Temperature writes t in the shop's unit, rounded to whole degrees.
func (u Units) Temperature(t Temperature) string {
	if u == Millimetres {
		return strconv.Itoa(int(math.Round(float64(t)))) + " °C"
	}
	return strconv.Itoa(int(math.Round(t.Fahrenheit()))) + " °F"
}

// splitUnit parts the number at the front of s from the unit behind it.
func splitUnit(s string) (num, unit string) {
	s = strings.TrimSpace(s)
	i := strings.IndexFunc(s, func(r rune) bool { return !strings.ContainsRune("+-.0123456789", r) })
	if i < 0 {
		return s, ""
	}
	return s[:i], strings.TrimSpace(s[i:])
}
