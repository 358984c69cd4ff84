package vector_test

import (
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"github.com/kitmuster/kitmuster/notify/vector"
)

// svg is a picture of 100 by 50 units with this inside; its pictures have 10
// of ours for each.
func svg(inside string) string {
	return `<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" viewBox="0 0 100 50">` +
		inside + `</svg>`
}

func read(t require.TestingT, text string) *vector.Picture {
	p, err := vector.Read([]byte(text))
	require.NoError(t, err, text)
	return p
}

// area adds up the signed area inside a path by Green's theorem, curves as
// many short lines.
func area(steps []vector.Step) float64 {
	sum := 0.0
	var at, start vector.Point
	line := func(to vector.Point) {
		sum += (at.X*to.Y - to.X*at.Y) / 2
		at = to
	}
	for _, s := range steps {
		switch s.Op {
		case 'M':
			line(start)
			at, start = s.To[0], s.To[0]
		case 'L':
			line(s.To[0])
		case 'C':
			from := at
			for i := 1; i <= 200; i++ {
				u := float64(i) / 200
				v := 1 - u
				mix := func(a, b, c, d float64) float64 { return v*v*v*a + 3*v*v*u*b + 3*v*u*u*c + u*u*u*d }
				line(vector.Point{X: mix(from.X, s.To[0].X, s.To[1].X, s.To[2].X),
					Y: mix(from.Y, s.To[0].Y, s.To[1].Y, s.To[2].Y)})
			}
		case 'Z':
			line(start)
		}
	}
	line(start)
	return math.Abs(sum)
}

func TestAreasOfShapesAreThoseOfGeometry(t *testing.T) {
	for _, c := range []struct {
		name, inside string
		want         float64 // in user units
	}{
		{"rectangle", `<rect x="10" y="5" width="40" height="20"/>`, 800},
		{"rectangle in shares of the picture", `<rect width="50%" height="50%"/>`, 50 * 25},
		{"rectangle in inches and millimetres", `<rect width="0.5in" height="12.7mm"/>`, 48 * 48},
		{"rounded rectangle loses a square less a circle", `<rect width="40" height="20" rx="5"/>`,
			800 - (4-math.Pi)*25},
		{"corners are never rounder than half a side", `<rect width="40" height="20" rx="90" ry="10"/>`,
			math.Pi * 20 * 10},
		{"circle", `<circle cx="50" cy="25" r="20"/>`, math.Pi * 400},
		{"ellipse", `<ellipse cx="50" cy="25" rx="40" ry="10"/>`, math.Pi * 400},
		{"triangle by points", `<polygon points="0,0 10,0 0,10"/>`, 50},
		{"path of lines, relative and absolute", `<path d="M10 10h20v10H10z"/>`, 200},
		{"half circle by an arc", `<path d="M10 25A15 15 0 0 1 40 25z"/>`, math.Pi * 225 / 2},
		{"large arc the other way", `<path d="M40 25a15 15 0 1 0-15 15z"/>`, math.Pi*225*3/4 + 225.0/2},
		{"arc whose radius is too small grows", `<path d="M10 25A1 1 0 0 0 40 25z"/>`, math.Pi * 225 / 2},
		{"flags without gaps", `<path d="M10 25a15 15 0 0130 0z"/>`, math.Pi * 225 / 2},
		{"under a parabola (Archimedes: two thirds)", `<path d="M0 30Q15 0 30 30z"/>`, 2.0 / 3 * 30 * 15},
		{"smooth parabolas, up and down", `<path d="M0 30Q15 0 30 30T60 30V50H0z"/>`, 60 * 20},
		{"scaled one way", `<rect width="10" height="10" transform="scale(2 3)"/>`, 600},
		{"scaled by one number", `<rect width="10" height="10" transform="scale(2)"/>`, 400},
		{"turned and skewed keeps its area",
			`<rect width="10" height="10" transform="translate(30,20) rotate(33) skewX(20)"/>`, 100},
		{"groups multiply", `<g transform="scale(2)"><g transform="translate(3)"><rect width="10" height="5" transform="scale(.5)"/></g></g>`, 50},
		{"used again",
			`<defs><rect id="a" width="10" height="5"/></defs><use xlink:href="#a" x="4" transform="scale(2)"/>`, 200},
	} {
		t.Run(c.name, func(t *testing.T) {
			p := read(t, svg(c.inside))
			require.Len(t, p.Shapes, 1)
			require.InEpsilon(t, c.want, area(p.Shapes[0].Path)/100, 5e-4)
		})
	}
}

func TestStylesFollowTheCascade(t *testing.T) {
	sheet := `<style>rect{fill:#010101} .b{fill:#020202} #c{fill:#030303} .d, .e{fill:#040404}</style>`
	for _, c := range []struct {
		name, inside string
		want         byte // red of the fill
	}{
		{"attribute", `<rect width="1" height="1" fill="#090909"/>`, 9},
		{"a rule beats the attribute", sheet + `<rect width="1" height="1" fill="#090909"/>`, 1},
		{"a class beats a name", sheet + `<rect class="x b" width="1" height="1"/>`, 2},
		{"an id beats a class", sheet + `<rect class="b" id="c" width="1" height="1"/>`, 3},
		{"the later of two classes", sheet + `<rect class="e b" width="1" height="1"/>`, 4},
		{"its own style beats all", sheet + `<rect class="b" id="c" width="1" height="1" style="fill:#050505"/>`, 5},
		{"from the group", `<g fill="#070707"><rect width="1" height="1"/></g>`, 7},
		{"inherit", sheet + `<g fill="#070707"><rect width="1" height="1" style="fill:inherit"/></g>`, 7},
		{"currentColor", `<g color="#080808"><rect width="1" height="1" fill="currentColor"/></g>`, 8},
		{"black where nobody says", `<rect width="1" height="1"/>`, 0},
		{"three digits", `<rect width="1" height="1" fill="#ABC"/>`, 0xaa},
		{"by name", `<rect width="1" height="1" fill="Tomato"/>`, 255},
		{"by percent", `<rect width="1" height="1" fill="rgb(20%, 0%, 0%)"/>`, 51},
	} {
		t.Run(c.name, func(t *testing.T) {
			p := read(t, svg(c.inside))
			require.Equal(t, c.want, p.Shapes[0].Fill.RGB[0])
			require.InDelta(t, 1, p.Shapes[0].Fill.Opacity, 0)
		})
	}
}

func TestStrokesAreMeasuredInThePicture(t *testing.T) {
	p := read(t, svg(`<g transform="scale(2)" stroke="red" fill="none"><path d="M0 0h9" stroke-width="3" stroke-dasharray="1,2 3" stroke-dashoffset="-1" stroke-linecap="square" opacity=".5"/><path d="M0 0h9"/></g>`))
	require.Equal(t, &vector.Stroke{Ink: vector.Ink{RGB: [3]uint8{255}, Opacity: 0.5}, Width: 60, Cap: 2, MiterLimit: 4,
		Dash: []float64{20, 40, 60, 20, 40, 60}, DashOffset: 220}, p.Shapes[0].Stroke)
	require.InDelta(t, 20, p.Shapes[1].Stroke.Width, 1e-9, "one unit where nobody says")
	require.Nil(t, p.Shapes[0].Fill)
	require.False(t, p.Opaque())
}

func TestWhatIsHiddenIsNotDrawn(t *testing.T) {
	p := read(t, svg(`<g display="none"><text>x</text></g><rect width="1" height="1" visibility="hidden"/><rect width="1" height="1" style="display:none"/>
		<rect width="0" height="1"/><path d=""/><title>text</title><metadata><anything/></metadata><rect width="3" height="1"/>`))
	require.Len(t, p.Shapes, 1)
}

// TestWhatIsNotUnderstoodIsRefused shows one of each kind of what would be
// drawn otherwise than meant.
func TestWhatIsNotUnderstoodIsRefused(t *testing.T) {
	r := `<rect width="9" height="9" %s/>`
	with := func(attr string) string { return svg(strings.Replace(r, "%s", attr, 1)) }
	for text, want := range map[string]string{
		"": "no SVG picture", "<html/>": "no SVG picture", "<svg": "broken", "<svg></svg>": "neither a viewBox",
		`<svg viewBox="0 0 0 5"/>`: "size", `<svg viewBox="0 0 x"/>`: "viewBox",
		`<svg width="50%" height="1"/>`:                                    "neither a viewBox",
		`<!DOCTYPE svg [<!ENTITY a "b">]><svg viewBox="0 0 1 1">&a;</svg>`: "broken",
		svg(""):                   "nothing of it is to be seen",
		svg(`<text>Hello</text>`): "line 1: it has text; turn text into outlines",
		svg(`<image href="http://example.net/a.png"/>`):        "photo",
		svg(`<use href="other.svg#a"/>`):                       "another file",
		svg(`<use href="#nowhere"/>`):                          "no shape of it",
		svg(`<g id="a"><use href="#a"/></g>`):                  "too many parts",
		svg(`<symbol id="a"><rect/></symbol><use href="#a"/>`): "no shape of it",
		svg(`<svg viewBox="0 0 1 1"/>`):                        "another picture inside",
		svg(`<script>1</script>`):                              "script",
		svg(`<foreignObject/>`):                                "another program",
		svg(`<rect width="1" height="1"><animate/></rect>`):    "it moves",
		svg(`<star/>`): `"star"`,
		svg(`<style>@import url(http://example.net/a.css);</style>`): "style sheet",
		svg(`<style>g > rect{fill:red}</style>`):                     "style sheet",
		svg(`<style>rect{fill:red!important}</style>`):               "style sheet",
		with(`fill="url(#g)"`):                                       "gradient or pattern",
		with(`filter="url(#f)"`):                                     "filter: url(#f)",
		with(`mask="url(#f)"`):                                       "mask",
		with(`clip-path="url(#none)"`):                               "clip-path",
		with(`clip-path="circle(4px)"`):                              "clip-path",
		with(`style="mix-blend-mode:multiply"`):                      "mix-blend-mode: multiply",
		with(`style="transform:rotate(4deg)"`):                       "transform",
		with(`transform="scale(1"`):                                  "transform",
		with(`transform="spin(1)"`):                                  "transform",
		with(`stroke="red" transform="scale(1 2)"`):                  "stretched",
		with(`stroke="red" opacity=".5"`):                            "see-through shape with an outline",
		with(`stroke="red" vector-effect="non-scaling-stroke"`):      "vector-effect",
		with(`stroke="red" stroke-width="1em"`):                      "stroke-width",
		with(`stroke="red" stroke-dasharray="1 -1"`):                 "dasharray",
		with(`stroke="red" stroke-dasharray="0.0001"`):               "too fine",
		with(`stroke="red" stroke-linejoin="arcs"`):                  "corners",
		with(`marker-end="url(#m)"`):                                 "marker-end",
		with(`fill="hsl(1,2%,3%)"`):                                  "colour",
		with(`fill="#12345"`):                                        "colour",
		with(`fill-rule="odd"`):                                      "fill-rule",
		with(`transform="translate(1e8)"`):                           "far outside",
		with(`systemLanguage="de"`):                                  "systemLanguage",
		with(`wobble="1"`):                                           "wobble",
		svg(`<rect width="1em" height="1"/>`):                        "width",
		svg(`<circle r="10%"/>`):                                     `r "10%"`,
		svg(`<g opacity=".5"><rect width="1" height="1"/><rect width="1" height="1"/></g>`): "see-through group",
		svg(`<path d="L1 1"/>`):                                      "path",
		svg(`<path d="M1 1 L2"/>`):                                   "path",
		svg(`<path d="M1 1 X2"/>`):                                   "path",
		svg(`<path d="M1 1 A1 1 0 2 0 3 3"/>`):                       "path",
		svg(`<polygon points="1 2 3"/>`):                             "points",
		svg(`<path d="M0 0` + strings.Repeat("h1", 100_001) + `"/>`): "too many points",
		svg(strings.Repeat("<g>", 70) + strings.Repeat("</g>", 70)):  "too many parts",
		svg(strings.Repeat("<g/>", 20_001)):                          "too many parts",
		strings.Repeat(" ", vector.MaxBytes+1):                       "larger than 4 MB",
		svg(`<clipPath id="c"><rect width="1" height="1"/><rect width="2" height="1"/></clipPath><rect width="9" height="9" clip-path="url(#c)"/>`): "several shapes",
	} {
		_, err := vector.Read([]byte(text))
		require.ErrorContains(t, err, want, text[:min(len(text), 200)])
	}
}

// TestManyUsesOfManyUses is the laughing of a billion: ten levels of ten uses.
func TestManyUsesOfManyUses(t *testing.T) {
	var b strings.Builder
	b.WriteString(`<defs><g id="a0"><rect width="1" height="1"/></g>`)
	for i := range 10 {
		b.WriteString(`<g id="a` + string(rune('1'+i)) + `">` +
			strings.Repeat(`<use href="#a`+string(rune('0'+i))+`"/>`, 10) + `</g>`)
	}
	_, err := vector.Read([]byte(svg(b.String() + `</defs><use href="#a9"/>`)))
	require.ErrorContains(t, err, "too many parts")
}

// TestLittleFilesThatWouldKeepAReaderBusy are refused, or read, at once.
func TestLittleFilesThatWouldKeepAReaderBusy(t *testing.T) {
	long := strings.Repeat(" ", 2<<20)
	uses := strings.Repeat(`<use href="#a"/>`, 19_000)
	for _, text := range []string{
		svg(`<defs><path id="a" d="M0 0h1` + long + `v1z"/></defs>` + uses),
		svg(`<style>` + strings.Repeat(".a{fill:red}", 10_000) + `</style>` +
			strings.Repeat(`<rect class="b c d" width="1" height="1"/>`, 19_000)),
		svg(`<clipPath id="c"><path d="M0 0h1` + long +
			`v1z"/></clipPath><g id="a"><rect width="1" height="1" clip-path="url(#c)"/></g>` + uses),
	} {
		_, err := vector.Read([]byte(text))
		require.ErrorContains(t, err, "too many parts")
	}
	read(t, svg(strings.Repeat(`<style>rect{fill:red}</style>`, 19_000)+`<rect width="1" height="1"/>`))
	read(t, svg(`<style>`+strings.Repeat(" <!-- -->", 200_000)+`</style><rect width="1" height="1"/>`))
	read(t, svg(`<style>`+strings.Repeat(".a{fill:red}", 10_000)+long+`</style><rect width="1" height="1"/>`))
}

// TestMarkupReadsBackTheSame writes every picture of the fixtures and reads
// it again.
func TestMarkupReadsBackTheSame(t *testing.T) {
	files, err := filepath.Glob("testdata/*.svg")
	require.NoError(t, err)
	require.NotEmpty(t, files)
	for _, f := range files {
		data, err := os.ReadFile(f)
		require.NoError(t, err)
		p, err := vector.Read(data)
		require.NoError(t, err, f)
		requireSame(t, p, again(t, p))
	}
}

func again(t require.TestingT, p *vector.Picture) *vector.Picture {
	size := func(v float64) string { return strings.TrimRight(strings.TrimRight(fmtFloat(v), "0"), ".") }
	return read(t, `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 `+size(p.Width)+` `+size(p.Height)+
		`">`+p.Markup("a")+`</svg>`)
}

func TestAMoveMovesEverythingAndATurnOfAWholeIsNone(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		num := rapid.Float64Range(-40, 40)
		x, y := num.Draw(t, "x"), num.Draw(t, "y")
		d := "M1 2C3 4 5 6 7 8S1 2 3 4L9 1A5 3 20 1 0 2 2z"
		plain := read(t, svg(`<path d="`+d+`"/>`)).Shapes[0].Path
		moved := read(t, svg(`<path transform="rotate(180) rotate(180) translate(`+fmtFloat(x)+`,`+fmtFloat(y)+
			`)" d="`+d+`"/>`)).Shapes[0].Path
		require.Len(t, moved, len(plain))
		for i := range plain {
			if plain[i].Op == 'Z' {
				continue
			}
			require.InDelta(t, plain[i].To[0].X+10*x, moved[i].To[0].X, 1e-2)
			require.InDelta(t, plain[i].To[0].Y+10*y, moved[i].To[0].Y, 1e-2)
		}
	})
}
