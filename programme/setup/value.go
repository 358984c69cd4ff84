package setup

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"go.yaml.in/yaml/v3"

	"github.com/kitmuster/kitmuster/programme"
)

// value builds a field that is one scalar.
func value[T, V any](key, help string, at func(*T) *V, parse func(string) (V, error), format func(V) string,
	isDefault func(V) bool) field[T] {
	return field[T]{
		key: key, help: help, blank: blankText,
		read: func(r *reader, n *yaml.Node, path string, into *T) {
			if n.Kind != yaml.ScalarNode || n.Tag == "!!null" {
				r.wrong(n, path, "read %s; write one value%s", describe(n), inBrackets(help))
				return
			}
			v, err := parse(n.Value)
			if err != nil {
				r.wrong(n, path, "%s", err)
				return
			}
			*at(into) = v
		},
		write: func(from *T, all bool) *yaml.Node {
			if v := *at(from); all || !isDefault(v) {
				return scalar(format(v))
			}
			return nil
		},
	}
}

func asIs(s string) string { return s }

// same returns a test for v, the value at which a key is left out of a written file.
func same[V comparable](v V) func(V) bool { return func(x V) bool { return x == v } }

func whole[T any](key, help string, least, most, otherwise int, at func(*T) *int) field[T] {
	parse := func(s string) (int, error) {
		v, err := strconv.Atoi(s)
		if err != nil || v < least || v > most {
			return 0, fmt.Errorf("read %q; write a whole number from %d to %d", short(s), least, most)
		}
		return v, nil
	}
	return value(key, help, at, parse, strconv.Itoa, same(otherwise))
}

func number[T any](key, help string, least, most, otherwise float64, at func(*T) *float64) field[T] {
	return value(key, help, at, func(s string) (float64, error) { return parseNumber(s, least, most) }, formatNumber,
		same(otherwise))
}

func parseNumber(s string, least, most float64) (float64, error) {
	if v, err := strconv.ParseFloat(strings.TrimSuffix(s, "%"), 64); err == nil && strings.HasSuffix(s, "%") {
		return 0, fmt.Errorf("read %q; write %s per cent as %s", short(s), formatNumber(v), formatNumber(v/100))
	}
	v, err := strconv.ParseFloat(s, 64)
	if err != nil || math.IsNaN(v) || v < least || v > most {
		return 0, fmt.Errorf("read %q; write a number from %s to %s", short(s), formatNumber(least), formatNumber(most))
	}
	return v, nil
}

func formatNumber(v float64) string { return strconv.FormatFloat(v, 'g', -1, 64) }

func yesNo[T any](key, help string, at func(*T) *bool) field[T] {
	return yesUnless(key, help, false, at)
}

// yesUnless builds a field that is yes or no, and has the value of otherwise where the file
// does not say.
func yesUnless[T any](key, help string, otherwise bool, at func(*T) *bool) field[T] {
	parse := func(s string) (bool, error) {
		switch strings.ToLower(s) {
		case "yes", "true":
			return true, nil
		case "no", "false":
			return false, nil
		}
		return false, fmt.Errorf("read %q; write yes or no", short(s))
	}
	return value(key, help, at, parse, programme.YesNo, same(otherwise))
}

func money[T any](key, help string, at func(*T) *programme.Money) field[T] {
	parse := func(s string) (programme.Money, error) {
		v, err := programme.ParseMoney(s)
		if err == nil && v < 0 {
			return 0, fmt.Errorf("read %q; an amount here cannot be below 0", short(s))
		}
		return v, err
	}
	return value(key, help, at, parse, programme.Money.Decimal, same(programme.Money(0)))
}

// amount builds a field that is money, and is not written at its usual amount.
func amount[T any](key, help string, otherwise programme.Money, at func(*T) *programme.Money) field[T] {
	f := money(key, help, at)
	written := f.write
	f.write = func(from *T, all bool) *yaml.Node {
		if !all && *at(from) == otherwise {
			return nil
		}
		return written(from, true)
	}
	return f
}

func length[T any](key, help string, otherwise programme.Length, at func(*T) *programme.Length) field[T] {
	return value(key, help, at, programme.ParseLength, formatLength, same(otherwise))
}

// formatLength writes inches where they come out short, else millimetres; both read back exactly.
func formatLength(l programme.Length) string {
	in := strconv.FormatFloat(l.Inches(), 'f', -1, 64)
	if len(in) <= 6 {
		return in + "in"
	}
	return strconv.FormatFloat(l.Millimetres(), 'f', -1, 64) + "mm"
}

func temperature[T any](key, help string, at func(*T) *programme.Temperature) field[T] {
	format := func(t programme.Temperature) string {
		f := strconv.FormatFloat(math.Round(t.Fahrenheit()*1000)/1000, 'f', -1, 64) + "F"
		if back, err := programme.ParseTemperature(f); err == nil && back == t {
			return f
		}
		return strconv.FormatFloat(float64(t), 'f', -1, 64) + "C"
	}
	return value(key, help, at, programme.ParseTemperature, format, same(programme.Temperature(0)))
}
