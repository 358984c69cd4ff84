package vector

import (
	"encoding/hex"
	"strconv"
	"strings"

	"golang.org/x/image/colornames"
)

// paint reads a fill or stroke; nil is none. fade is how much it covers at most.
func paint(n *node, s style, property, usual string, fade float64) (*Ink, error) {
	value := s.or(property, usual)
	if strings.EqualFold(value, "currentColor") {
		value = s.or("color", "black")
	}
	if value == "none" {
		return nil, nil
	}
	if strings.HasPrefix(value, "url(") {
		return nil, n.refuse("it has a colour gradient or pattern")
	}
	ink, ok := colour(strings.ToLower(value))
	if !ok {
		return nil, n.refuse("the colour %q is not understood", short(value))
	}
	cover, ok := share(s.or(property+"-opacity", "1"))
	if !ok {
		return nil, n.refuse("the %s-opacity %q is not understood", property, short(s[property+"-opacity"]))
	}
	if ink.Opacity *= cover * fade; ink.Opacity == 0 {
		return nil, nil
	}
	return &ink, nil
}

// colour reads a colour: a name, #rgb, #rrggbb, rgb() or rgba().
func colour(s string) (Ink, bool) {
	if c, ok := colornames.Map[s]; ok {
		return Ink{[3]uint8{c.R, c.G, c.B}, 1}, true
	}
	if s == "transparent" {
		return Ink{}, true
	}
	if digits, ok := strings.CutPrefix(s, "#"); ok {
		return hexColour(digits)
	}
	head, rest, ok := strings.Cut(s, "(")
	parts := strings.FieldsFunc(strings.TrimSuffix(rest, ")"),
		func(r rune) bool { return r == ',' || r == ' ' || r == '\t' || r == '\n' })
	if !ok || !strings.HasSuffix(rest, ")") || (head != "rgb" && head != "rgba") || len(parts) < 3 || len(parts) > 4 {
		return Ink{}, false
	}
	ink := Ink{Opacity: 1}
	for i := range ink.RGB {
		v, ok := component(parts[i])
		if !ok {
			return Ink{}, false
		}
		ink.RGB[i] = v
	}
	if len(parts) == 4 {
		ink.Opacity, ok = share(parts[3])
	}
	return ink, ok
}

func hexColour(digits string) (Ink, bool) {
	if len(digits) == 3 || len(digits) == 4 {
		var wide strings.Builder
		for _, r := range digits {
			wide.WriteRune(r)
			wide.WriteRune(r)
		}
		digits = wide.String()
	}
	b, err := hex.DecodeString(digits)
	if err != nil || len(b) != 3 && len(b) != 4 {
		return Ink{}, false
	}
	ink := Ink{[3]uint8(b[:3]), 1}
	if len(b) == 4 {
		ink.Opacity = float64(b[3]) / 255
	}
	return ink, true
}

func component(s string) (uint8, bool) {
	of := 1.0
	if p, ok := strings.CutSuffix(s, "%"); ok {
		s, of = p, 2.55
	}
	v, err := strconv.ParseFloat(s, 64)
	if err != nil || v != v {
		return 0, false
	}
	return uint8(min(255, max(0, v*of)) + 0.5), true
}

// share reads a part of one, as 0.5 or 50%.
func share(s string) (float64, bool) {
	v, ok := length(s, 1)
	return min(1, max(0, v)), ok
}
