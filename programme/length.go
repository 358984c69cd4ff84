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
	scale, ok := map[string]Length{"in": Inch, "inch": Inch, "inches": Inch, `"`: Inch, "mm": Millimetre,
		"cm": Centimetre, "m": 1000 * Millimetre}[strings.ToLower(unit)]
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

// Units are the units in which a shop reads lengths and temperatures.
type Units string

// The units in which a shop may read lengths. Temperatures follow: degrees
// Fahrenheit with inches, else Celsius.
const (
	Inches      Units = "inches"
	Millimetres Units = "millimetres"
	Centimetres Units = "centimetres"
)

// AllUnits returns the units to choose from.
func AllUnits() []Units { return []Units{Inches, Millimetres, Centimetres} }

// Metric reports whether the shop reads metric measures.
func (u Units) Metric() bool { return u == Millimetres || u == Centimetres }

// Suffix returns the shop's unit as it stands behind a number or in a heading.
func (u Units) Suffix() string {
	switch u {
	case Millimetres:
		return "mm"
	case Centimetres:
		return "cm"
	case Inches:
	}
	return "in"
}

// One returns the length of the shop's unit.
func (u Units) One() Length {
	switch u {
	case Millimetres:
		return Millimetre
	case Centimetres:
		return Centimetre
	case Inches:
	}
	return Inch
}

// Length writes l in the shop's unit: 3.5 in, 89 mm or 8.9 cm.
func (u Units) Length(l Length) string {
	places := 100.0 // hundredths of an inch or centimetre, tenths of a millimetre
	if u == Millimetres {
		places = 10
	}
	return u.number(l, places) + " " + u.Suffix()
}

// Bare writes l in the shop's unit to a thousandth, without the unit.
func (u Units) Bare(l Length) string { return u.number(l, 1000) }

func (u Units) number(l Length, places float64) string {
	v := float64(l) / float64(u.One())
	return strconv.FormatFloat(math.Round(v*places)/places, 'f', -1, 64)
}

// Temperature writes t in the shop's unit, rounded to whole degrees.
func (u Units) Temperature(t Temperature) string {
	if u.Metric() {
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
