package vector

import (
	"maps"
	"slices"
	"strings"

	"github.com/kitmuster/kitmuster/programme/clean"
)

// style holds the properties of a node as they were written, those inherited from its
// parent included.
type style map[string]string

// handedDown lists the properties that children inherit (SVG 1.1, appendix N).
var handedDown = []string{
	"fill", "fill-opacity", "fill-rule", "stroke", "stroke-width", "stroke-opacity", "stroke-linecap",
	"stroke-linejoin",
	"stroke-miterlimit", "stroke-dasharray", "stroke-dashoffset", "color", "clip-rule", "visibility",
}

// own lists the properties that are not inherited.
var own = []string{"opacity", "display", "clip-path", "transform"}

// neutral are properties that must have one of these values, with which they
// change nothing; with another, the picture is not understood.
var neutral = map[string][]string{
	"mask": {"none"}, "filter": {"none"}, "mix-blend-mode": {"normal"}, "vector-effect": {"none"}, "clip": {"auto"},
	"paint-order": {"normal", "fill", "fill stroke", "fill stroke markers", "fill markers stroke",
		"markers fill stroke"},
	"marker": {"none"}, "marker-start": {"none"}, "marker-mid": {"none"}, "marker-end": {"none"},
	"transform-origin": {"0", "0 0", "0px 0px"},
	"background":       {"none", "transparent"}, "background-color": {"transparent"},
}

// harmless lists how names of properties and attributes begin that do not change what is
// drawn here: those of text, of gradients, of screens, of editors.
var harmless = []string{
	"-", "font", "text-", "letter-spacing", "word-spacing", "line-height", "writing-mode", "direction", "unicode-bidi",
	"dominant-baseline", "alignment-baseline", "baseline-shift", "white-space", "shape-", "color-", "image-rendering",
	"enable-background", "pointer-events", "cursor", "stop-", "solid-", "flood-", "lighting-color",
	"isolation", "overflow",
	"kerning", "glyph-orientation", "block-progression", "inline-size", "user-select",
}

// plain lists the attributes that are no style properties: they are read by the elements
// that use them, or mean nothing to a drawing.
var plain = []string{
	"xmlns", "id", "class", "style", "type", "version", "baseProfile", "role", "tabindex", "lang", "focusable",
	"name", "href",
	"x", "y", "width", "height", "viewBox", "preserveAspectRatio", "cx", "cy", "r", "rx", "ry", "x1", "y1", "x2", "y2",
	"points", "d",
	"clipPathUnits", "externalResourcesRequired", "zoomAndPan", "contentScriptType", "contentStyleType",
	"media", "title",
}

var plainPrefixes = []string{"data-", "aria-", "on"}

// styleOf works out a node's properties: attributes first, over them the rules
// of the file's style sheets, over these its own style (CSS 2.1, 6.4).
func (d *drawer) styleOf(up style, n *node) (style, error) {
	s := style{}
	for _, k := range handedDown {
		if v, ok := up[k]; ok {
			s[k] = v
		}
	}
	for _, k := range slices.Sorted(maps.Keys(n.attrs)) {
		if slices.Contains(plain, k) || begins(k, plainPrefixes) {
			continue
		}
		if err := s.put(up, n, declaration{k, n.attrs[k]}); err != nil {
			return nil, err
		}
	}
	for i := range d.rules {
		if !d.rules[i].matches(n) {
			continue
		}
		for _, decl := range d.rules[i].declarations {
			if err := s.put(up, n, decl); err != nil {
				return nil, err
			}
		}
	}
	list, ok := declarations(n.attrs["style"])
	if !ok {
		return nil, n.refuse("its style %q is not understood", short(n.attrs["style"]))
	}
	for _, decl := range list {
		if err := s.put(up, n, decl); err != nil {
			return nil, err
		}
	}
	return s, nil
}

func (s style) put(up style, n *node, d declaration) error {
	known := slices.Contains(handedDown, d.property)
	switch allowed, isNeutral := neutral[d.property]; {
	case d.value == "inherit" && known:
		delete(s, d.property)
		if v, ok := up[d.property]; ok {
			s[d.property] = v
		}
	case known, slices.Contains(own, d.property):
		s[d.property] = d.value
	case isNeutral && slices.Contains(allowed, strings.Join(strings.Fields(d.value), " ")),
		begins(d.property, harmless):
	default:
		return n.refuse("it uses %s: %s", short(d.property), short(d.value))
	}
	return nil
}

func begins(s string, prefixes []string) bool {
	return slices.ContainsFunc(prefixes, func(p string) bool { return strings.HasPrefix(s, p) })
}

// or returns a property's value, or what it is where nobody says.
func (s style) or(property, usual string) string {
	if v, ok := s[property]; ok {
		return v
	}
	return usual
}

// short keeps what is quoted from a stranger's file to a few words.
func short(s string) string { return clean.Cut(clean.Line(s), 41) }
