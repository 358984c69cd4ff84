package document

import (
	"math"
	"slices"
	"strings"

	"codeberg.org/go-pdf/fpdf"

	"github.com/kitmuster/kitmuster/programme"
)

// Placing is a drawing of a garment with its print to scale, and the one
// measure by which the print is laid.
type Placing struct {
	Shape   Silhouette
	Place   string           // left-chest, full-back, ...
	Width   programme.Length // of the print
	Height  programme.Length
	Drop    programme.Length // from a seam down to the top of the print; 0 = not known
	From    string           // words that name the seam; empty: the top of the garment
	Measure string           // the drop as people read it
	Art     string           // the artwork's code
	Picture []byte           // of the artwork; may be empty
}

// Silhouette is the outline that stands for a garment on a ticket.
type Silhouette string

// Silhouettes. A garment without one has no drawing.
const (
	NoSilhouette Silhouette = ""
	Tee          Silhouette = "tee"
	Polo         Silhouette = "polo"
	Hooded       Silhouette = "hooded"
	Vest         Silhouette = "vest"
	Trousers     Silhouette = "trousers"
	Apron        Silhouette = "apron"
	Cap          Silhouette = "cap"
)

// outline is a garment laid flat in a middle size, in millimetres from where
// the neck meets the shoulder seam (of trousers, aprons and caps: the top) on
// the middle line. The figures are rounded (common practice, no source): they
// set the scale of a picture, and nobody cuts cloth by them.
type outline struct {
	half          [][2]float64 // the right half from the neck to the hem; the left mirrors it
	neck          float64      // from the shoulder down to the collar seam in front
	width, height float64
	above         float64               // what stands above the top: a hood, a strap
	print         map[string][2]float64 // places: middle of the print, and its usual top
	lines         [][4]float64          // seams and openings of the front
	boxes         [][4]float64          // pockets and tapes: x, y, width, height
}

// topPlaces returns the places of tops: the middle of the print lies 110 mm
// from the middle line on a chest, on it elsewhere.
func topPlaces(chest float64) map[string][2]float64 {
	return map[string][2]float64{
		"left-chest": {110, chest}, "right-chest": {-110, chest}, "full-front": {0, 160}, "centre-front": {0, 160},
		"full-back": {0, 120}, "upper-back": {0, 60}, "neck": {0, 35}, "left-sleeve": {292, 165},
		"right-sleeve": {-292, 165},
	}
}

// sleeveless returns the places of a top without sleeves.
func sleeveless(chest float64) map[string][2]float64 {
	places := topPlaces(chest)
	delete(places, "left-sleeve")
	delete(places, "right-sleeve")
	return places
}

var outlines = map[Silhouette]outline{
	Tee: {
		half: [][2]float64{{90, 0}, {232, 45}, {335, 205}, {266, 248}, {272, 240}, {280, 740}}, neck: 85, width: 670,
		height: 740,
		print:  topPlaces(175),
	},
	Polo: {
		half: [][2]float64{{90, 0}, {232, 45}, {335, 215}, {266, 258}, {272, 248}, {280, 740}}, neck: 70, width: 670,
		height: 740,
		print:  topPlaces(200), lines: [][4]float64{{0, 70, 0, 230}, {-14, 230, 14, 230}, {-90, 0, -24, 80},
			{90, 0, 24, 80}},
	},
	Hooded: {
		half: [][2]float64{{95, 0}, {240, 45}, {400, 540}, {330, 570}, {285, 260}, {285, 700}}, neck: 70, width: 800,
		height: 700, above: 190,
		print: topPlaces(175), lines: [][4]float64{{-95, 0, -120, -110}, {-120, -110, 0, -190}, {0, -190, 120, -110},
			{120, -110, 95, 0}},
		boxes: [][4]float64{{-150, 480, 300, 170}},
	},
	Vest: {
		half: [][2]float64{{90, 0}, {190, 40}, {200, 230}, {285, 300}, {285, 680}}, neck: 160, width: 570, height: 680,
		print: sleeveless(200), boxes: [][4]float64{{-285, 400, 570, 50}, {-285, 540, 570, 50}},
	},
	Trousers: {
		half: [][2]float64{{200, 0}, {255, 300}, {235, 1040}, {110, 1040}, {0, 330}}, width: 510, height: 1040,
		print: map[string][2]float64{"hip": {-150, 190}, "left-hip": {150, 190}, "right-hip": {-150, 190},
			"thigh": {-150, 380}},
		lines: [][4]float64{{-200, 45, 200, 45}, {0, 45, 0, 200}, {-140, 45, -240, 190}, {140, 45, 240, 190}},
	},
	Apron: {
		half: [][2]float64{{140, 0}, {150, 60}, {330, 330}, {330, 820}}, width: 660, height: 820, above: 130,
		print: map[string][2]float64{"bib": {0, 90}, "full-front": {0, 120}, "left-chest": {80, 90}},
		lines: [][4]float64{{-130, 0, -70, -120}, {-70, -120, 70, -120}, {70, -120, 130, 0}},
		boxes: [][4]float64{{-150, 480, 300, 180}},
	},
	Cap: {
		half: [][2]float64{{20, 0}, {70, 22}, {90, 60}, {95, 125}, {100, 150}, {60, 165}, {0, 172}}, width: 200,
		height: 172,
		print:  map[string][2]float64{"cap-front": {0, 40}}, lines: [][4]float64{{0, 0, 0, 118}, {-95, 125, 0, 118},
			{0, 118, 95, 125}},
	},
}

// visor is the distance of a cap's visor below its top, in millimetres.
const visor = 118

// Room on the page for a drawing, in millimetres.
const placingWide, placingHigh = 50.0, 56.0

// drawing lays the garment out in its room; false where shape or place have no
// picture.
func (g *Placing) drawing(art *artwork) (*drawing, bool) {
	o, known := outlines[g.Shape]
	at, placed := o.print[g.Place]
	if !known || !placed || g.Width <= 0 || g.Height <= 0 {
		return nil, false
	}
	k := math.Min((placingWide-12)/o.width, (placingHigh-8)/(o.height+o.above))
	cx, top := placingWide/2-4, o.above*k+1
	x := func(mm float64) float64 { return cx + mm*k }
	y := func(mm float64) float64 { return top + mm*k }
	back := strings.Contains(g.Place, "back") || g.Place == "neck"
	d := &drawing{width: placingWide, height: placingHigh}
	seam := mark{stroke: softRGB, line: 0.2}
	d.polygon(g.contour(o, back, x, y), mark{stroke: softRGB, line: 0.3, fill: [3]int{0xfa, 0xf8, 0xf3}, filled: true})
	if !back {
		for _, l := range o.lines {
			d.line(x(l[0]), y(l[1]), x(l[2]), y(l[3]), seam)
		}
	}
	if !back || g.Shape == Vest {
		for _, b := range o.boxes {
			d.box(x(b[0]), y(b[1]), b[2]*k, b[3]*k, seam)
		}
	}
	w, h := g.Width.Millimetres()*k, g.Height.Millimetres()*k
	from := g.seam(o, back)
	upper := at[1]
	switch {
	case g.Shape == Cap:
		upper = visor - g.Drop.Millimetres() - g.Height.Millimetres()
	case g.Drop > 0:
		upper = from + g.Drop.Millimetres()
	}
	g.print(d, art, x(at[0])-w/2, y(upper), w, h)
	if g.Drop > 0 && g.Measure != "" {
		end := upper
		if g.Shape == Cap {
			end = upper + g.Height.Millimetres()
		}
		g.arrow(d, x(at[0]), w/2+1.5, y(from), y(end))
	}
	view := "front"
	if back {
		view = "back"
	}
	d.text(cx-3.5, y(o.height)+3.2, view, mark{size: 7.5, ink: softRGB})
	return d, true
}

// contour returns the garment's edge: the right half down, the left half up, and
// the neck, which lies higher behind.
func (g *Placing) contour(o outline, back bool, x, y func(float64) float64) [][2]float64 {
	var points [][2]float64
	for _, p := range o.half {
		points = append(points, [2]float64{x(p[0]), y(p[1])})
	}
	for _, p := range slices.Backward(o.half) {
		points = append(points, [2]float64{x(-p[0]), y(p[1])})
	}
	depth := o.neck
	if back {
		depth = math.Min(depth, 20)
	}
	for _, t := range []float64{-0.8, -0.5, 0, 0.5, 0.8} {
		points = append(points, [2]float64{x(t * o.half[0][0]), y(depth * math.Sqrt(1-t*t))})
	}
	return points
}

// seam returns where the drop is measured from, in millimetres below the top.
func (g *Placing) seam(o outline, back bool) float64 {
	switch {
	case g.Shape == Cap:
		return visor
	case strings.Contains(g.From, "collar") && back:
		return math.Min(o.neck, 20)
	case strings.Contains(g.From, "collar"):
		return o.neck
	case strings.Contains(g.From, "pocket"):
		return 190
	}
	return 0
}

// print puts the artwork into its place, or a box that stands for it.
func (g *Placing) print(d *drawing, art *artwork, x, y, w, h float64) {
	d.box(x, y, w, h, mark{stroke: markRGB, line: 0.25, fill: groundRGB, filled: true})
	if art != nil {
		d.picture(x, y, w, h, art, mark{})
	}
}

// arrow shows a measure beside the print, between a seam and an edge: on its
// right, or on its left where the drawing ends.
func (g *Placing) arrow(d *drawing, middle, aside, from, to float64) {
	wide := textWidth([]string{g.Measure}, 8) + 0.6
	x, words := middle+aside, middle+aside+1.2
	if words+wide > d.width {
		x, words = middle-aside, middle-aside-1.2-wide
	}
	m := mark{stroke: markRGB, line: 0.25}
	d.line(x, from, x, to, m)
	d.line(x-1, from, x+1, from, m)
	d.line(x-1, to, x+1, to, m)
	d.box(words-0.2, (from+to)/2-1.6, wide, 3.2, mark{fill: [3]int{255, 255, 255}, filled: true})
	d.text(words, (from+to)/2, g.Measure, mark{size: 8, bold: true, ink: markRGB})
}

// place draws the garment with its upper right corner there; false when there
// is no drawing of it.
func (p *paper) place(g *Placing, right, top float64) bool {
	var art *artwork
	if len(g.Picture) > 0 {
		if a, err := readArtwork(g.Art, g.Picture); err == nil {
			art = a
		}
	}
	d, ok := g.drawing(art)
	if !ok {
		return false
	}
	for i := range d.marks {
		m := &d.marks[i]
		m.x, m.y = m.x+right-placingWide, m.y+top
		for j := range m.points {
			m.points[j][0] += right - placingWide
			m.points[j][1] += top
		}
	}
	doc := proofPDF{paper: p, forms: map[*artwork]fpdf.Template{}, failed: map[*artwork]error{}}
	doc.marks(d)
	doc.SetDashPattern(nil, 0)
	return true
}
