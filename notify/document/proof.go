package document

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"unicode/utf8"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/sheet"
)

// Proof is the drawing of an order of transfers at true scale: what the
// printer is to print, and how the shop will cut it apart.
type Proof struct {
	Head
	// Ref names the order, such as "Transfers of 9 Mar 2026".
	Ref   string
	Dates programme.DateStyle
	Order *sheet.Order
	Kind  string // the transfer kind in words
	// Pictures are PNG, JPEG or SVG files by artwork code; an artwork without
	// one, or with one that cannot be drawn as it is meant, is drawn as a box
	// with its name.
	Pictures map[string][]byte
	// Artwork finds an artwork by its code, such as a shop's method of that name,
	// and Clients has the names of clients by code. What they do not know goes by
	// its code.
	Artwork func(code string) (*programme.Artwork, bool)
	Clients map[string]string

	ranks map[string]int      // of clients by code, once asked for
	art   map[string]*artwork // the pictures that can be drawn, once read
	// spoilt says in a sentence each which pictures cannot, and which have
	// another shape than their artwork.
	spoilt []string
}

// Measures of a proof page around the sheet itself, in millimetres.
const (
	proofEdge = 12.0
	proofHead = 24.0
	proofFoot = 34.0
	// longestPage is the longest piece of roll on one page: a PDF page ends at
	// 200 in (ISO 32000-1, annex C.2), less head, foot and overlap.
	longestPage = 4900.0
	// pageOverlap is shown on both pages where a roll is split.
	pageOverlap = 50.0
)

// tints tell clients apart; they are light, so that print stays readable.
var tints = [][3]int{{0xe3, 0xee, 0xf7}, {0xf9, 0xea, 0xd8}, {0xe4, 0xf1, 0xe2}, {0xf3, 0xe4, 0xf0}, {0xf6, 0xf2, 0xcf},
	{0xe2, 0xe6, 0xec}}

var cutRGB = [3]int{0xc2, 0x2f, 0x2f}

// pages draws every layout, a long roll on several pages.
func (p *Proof) pages() (out []drawing) {
	p.readPictures()
	for i := range p.Order.Layouts {
		l := &p.Order.Layouts[i]
		length := l.Height.Millimetres()
		for from := 0.0; ; from += longestPage - pageOverlap {
			to := min(length, from+longestPage)
			out = append(out, p.page(l, from, to))
			if to >= length {
				break
			}
		}
	}
	return out
}

// page draws the part of a layout between two distances from its top edge.
func (p *Proof) page(l *sheet.Layout, from, to float64) drawing {
	w := l.Width.Millimetres()
	d := drawing{width: max(w, 150) + 2*proofEdge, height: to - from + proofHead + proofFoot}
	p.heading(&d, l, from, to)
	d.shift(proofEdge, proofHead-from)
	d.box(0, from, w, to-from, mark{stroke: inkRGB, line: 0.3})
	gap := p.Order.Gutter > 0 && p.Order.Margin > 0
	if gap {
		p.cutLines(&d, l, from, to)
	}
	step := steps(l)
	for i := range l.Items {
		it := &l.Items[i]
		if top := it.Y.Millimetres(); top < to && top+it.H.Millimetres() > from {
			p.image(&d, it, step[i])
		}
	}
	if !gap { // the lines lie on the outlines of the images
		p.cutLines(&d, l, from, to)
	}
	p.seams(&d, w, from, to, l.Height.Millimetres())
	d.shift(proofEdge, proofHead+to-from)
	p.rulers(&d)
	return d
}

// heading says which sheet it is, how many to print and how full it is.
func (p *Proof) heading(d *drawing, l *sheet.Layout, from, to float64) {
	size := p.Units.Length(l.Width) + " × " + p.Units.Length(l.Height)
	name := "Sheet " + l.Name
	print := fmt.Sprintf("print %d", l.Copies)
	if p.Order.Sheet.Roll {
		name, print = "Roll "+l.Name, "print once"
		if l.Copies > 1 {
			print = fmt.Sprintf("print %d times", l.Copies)
		}
	}
	d.text(proofEdge, 5.5, name+": "+print, mark{size: 15, bold: true, ink: inkRGB})
	facts := fmt.Sprintf("%s · %s · %d images · %.0f %% covered", p.Kind, size, len(l.Items), l.Fill*100)
	d.text(proofEdge, 12, facts, mark{size: 9, ink: softRGB})
	under := p.Ref
	if clients := strings.Join(p.clientNames(l), ", "); clients != "" {
		under += " · " + clients
	}
	if l.Inks > 0 {
		under += fmt.Sprintf(" · %d ink colours", l.Inks)
	}
	if p.Order.Proven {
		under += " · no way to print it costs less: proven"
	}
	if from > 0 || to < l.Height.Millimetres() {
		under += fmt.Sprintf(" · this page: %s to %s from the leading edge",
			p.Units.Length(programme.Length(from*1000)), p.Units.Length(programme.Length(to*1000)))
	}
	d.text(proofEdge, 17, under, mark{size: 9, ink: softRGB})
	if room := p.room(l); room != "" {
		line := []string{room}
		d.text(proofEdge, 21.5, room, mark{size: min(8, fitText(line, d.width-2*proofEdge, d.width)), ink: softRGB})
	}
}

// roomUpTo is the number of artworks that are named for free room.
const roomUpTo = 3

// room says what else a layout would carry at no cost.
func (p *Proof) room(l *sheet.Layout) string {
	var parts []string
	for _, r := range p.Order.Room {
		if r.Layout != l.Name || r.Taken {
			continue
		}
		use := "no use is known yet"
		if !r.From.IsZero() {
			use = "used from " + p.Dates.Date(r.From)
		}
		whose := ""
		if r.Client != "" {
			whose = " of " + p.client(r.Client)
		}
		parts = append(parts, fmt.Sprintf("%d × “%s”%s (%s)", r.Each, p.called(r.Artwork), whose, use))
	}
	switch n := len(parts); {
	case n == 0:
		return ""
	case n > roomUpTo+1:
		parts = append(parts[:roomUpTo], fmt.Sprintf("and %d more", n-roomUpTo))
	}
	return "Would fit as well, at no cost: " + strings.Join(parts, "; ")
}

// called returns what people call an artwork.
func (p *Proof) called(code string) string {
	if p.Artwork != nil {
		if a, ok := p.Artwork(code); ok {
			return a.Called()
		}
	}
	return code
}

// client returns what people call a client.
func (p *Proof) client(code string) string { return cmp.Or(p.Clients[code], code) }

// clientNames names the clients on a layout, in the order of their names.
func (p *Proof) clientNames(l *sheet.Layout) []string {
	names := clientsOn(l)
	for i, code := range names {
		names[i] = p.client(code)
	}
	slices.Sort(names)
	return names
}

func clientsOn(l *sheet.Layout) (clients []string) {
	seen := map[string]bool{}
	for i := range l.Items {
		if c := l.Items[i].Client; !seen[c] {
			seen[c] = true
			clients = append(clients, c)
		}
	}
	slices.Sort(clients)
	return clients
}

// steps numbers the images in the order in which scissors take them off: row
// by row as they lie.
func steps(l *sheet.Layout) []int {
	out := make([]int, len(l.Items))
	for i := range out {
		out[i] = i + 1
	}
	return out
}

// image draws one transfer: its picture or a tinted box, its outline, and what
// it is.
func (p *Proof) image(d *drawing, it *sheet.Item, step int) {
	x, y, w, h := it.X.Millimetres(), it.Y.Millimetres(), it.W.Millimetres(), it.H.Millimetres()
	if art, drawn := p.art[it.Artwork]; drawn {
		if art.pale() {
			d.box(x, y, w, h, mark{fill: groundRGB, filled: true})
		}
		d.picture(x, y, w, h, art, mark{turned: it.Turned, fill: p.tint(it.Client)})
		d.box(x, y, w, h, mark{stroke: inkRGB, line: 0.25})
		p.caption(d, it, step)
	} else {
		d.box(x, y, w, h, mark{stroke: inkRGB, line: 0.25, fill: p.tint(it.Client), filled: true})
		p.label(d, it, step)
	}
	// The corner mark shows where the top of the artwork is: a turned image has
	// its top on the right.
	t := min(4, w/6, h/6)
	if it.Turned {
		d.polygon([][2]float64{{x + w, y + h/2 - t}, {x + w, y + h/2 + t}, {x + w - t, y + h/2}},
			mark{fill: markRGB, filled: true})
		return
	}
	d.polygon([][2]float64{{x + w/2 - t, y}, {x + w/2 + t, y}, {x + w/2, y + t}}, mark{fill: markRGB, filled: true})
}

func (p *Proof) tint(client string) [3]int {
	if p.ranks == nil {
		p.ranks = map[string]int{}
		var all []string
		for i := range p.Order.Layouts {
			all = append(all, clientsOn(&p.Order.Layouts[i])...)
		}
		slices.Sort(all)
		for i, c := range slices.Compact(all) {
			p.ranks[c] = i
		}
	}
	return tints[p.ranks[client]%len(tints)]
}

// words say what an image is: its name, its size upright, whose it is and when
// scissors come to it.
func (p *Proof) words(it *sheet.Item, step int) []string {
	w, h := it.W, it.H
	var under []string
	if it.Client != "" { // bare rectangles are nobody's
		under = append(under, p.client(it.Client))
	}
	if it.Turned {
		w, h = h, w
		under = append(under, "turned")
	}
	if p.Order.Cut == programme.Scissors {
		under = append(under, fmt.Sprintf("no. %d", step))
	}
	return []string{p.called(it.Artwork), p.Units.Length(w) + " × " + p.Units.Length(h), strings.Join(under, " · ")}
}

// label writes what an image is in its middle, along with it when it is
// turned, and as large as there is room for.
func (p *Proof) label(d *drawing, it *sheet.Item, step int) {
	w, h := it.W.Millimetres(), it.H.Millimetres()
	cx, cy := it.X.Millimetres()+w/2, it.Y.Millimetres()+h/2
	if it.Turned {
		w, h = h, w
	}
	name, lines, size := p.spread(it, step, w, h)
	lead := size * mmPerPoint * 1.25
	for i, s := range lines {
		along := (float64(i) - float64(len(lines)-1)/2) * lead
		m := mark{size: size, bold: i < name, ink: inkRGB, centred: true, turned: it.Turned}
		if it.Turned {
			d.text(cx-along, cy, s, m)
		} else {
			d.text(cx, cy+along, s, m)
		}
	}
}

// mostLines is how many lines the name of an artwork is broken into.
const mostLines = 4

// spread returns the lines of a label, the first so many of which are the artwork's name, and the size in points
// at which they fit: the name is broken into as many lines as let the letters be largest.
func (p *Proof) spread(it *sheet.Item, step int, w, h float64) (name int, lines []string, size float64) {
	words := p.words(it, step)
	for n := 1; n <= mostLines; n++ {
		broken := inLines(words[0], n)
		all := append(slices.Clone(broken), words[1:]...)
		if s := fitText(all, w-2, h-4); s > size {
			name, lines, size = len(broken), all, s
		}
	}
	if size < 4 {
		return 1, words[:1], max(3, fitText(words[:1], w-1, h-1))
	}
	return name, lines, size
}

// inLines breaks a text between its words into at most n lines, the longest of which is as short as can be.
func inLines(s string, n int) []string {
	words := strings.Fields(s)
	for most := utf8.RuneCountInString(s) / n; ; most++ {
		var lines []string
		for _, w := range words {
			if i := len(lines) - 1; i >= 0 && utf8.RuneCountInString(lines[i]+" "+w) <= most {
				lines[i] += " " + w
			} else {
				lines = append(lines, w)
			}
		}
		if len(lines) <= n {
			return lines
		}
	}
}

// caption writes what a picture is in one line at its lower edge, where it
// hides the least; a turned image has that edge on the left.
func (p *Proof) caption(d *drawing, it *sheet.Item, step int) {
	w, h := it.W.Millimetres(), it.H.Millimetres()
	wide := w
	if it.Turned {
		wide = h
	}
	lines := []string{strings.Join(p.words(it, step), " · ")}
	most := max(6.5, min(10, min(w, h)/15)) // points; large pictures are looked at from further off
	size := min(most, fitText(lines, wide-2, wide))
	if size < 4 {
		lines = []string{p.called(it.Artwork)}
		size = max(3, min(most, fitText(lines, wide-1, wide)))
	}
	high := size*mmPerPoint*1.25 + 0.4
	in := high/2 + 0.3 // clear of the outline
	x, y := it.X.Millimetres()+w/2, it.Y.Millimetres()+h-in
	if it.Turned {
		x, y = it.X.Millimetres()+in, it.Y.Millimetres()+h/2
	}
	d.band(x, y, textWidth(lines, size)+1.5, high, it.Turned)
	d.text(x, y, lines[0], mark{size: size, ink: inkRGB, centred: true, turned: it.Turned})
}

// cutLines draws where to cut. Scissors go round every image in the middle of
// the gutter; a trimmer cuts from edge to edge, in numbered order.
func (p *Proof) cutLines(d *drawing, l *sheet.Layout, from, to float64) {
	m := mark{stroke: cutRGB, line: 0.15, dashed: true}
	cuts, straight := sheet.Cuts(l)
	if p.Order.Cut != programme.Trimmer || !straight {
		g := min(p.Order.Gutter, 2*p.Order.Margin).Millimetres() / 2
		for _, it := range l.Items {
			y, h := it.Y.Millimetres()-g, it.H.Millimetres()+2*g
			if y < to && y+h > from {
				d.box(it.X.Millimetres()-g, y, it.W.Millimetres()+2*g, h, m)
			}
		}
		return
	}
	for _, c := range cuts {
		y0, y1 := max(from, c.Y0.Millimetres()), min(to, c.Y1.Millimetres())
		if y0 > y1 {
			continue
		}
		x0, x1 := c.X0.Millimetres(), c.X1.Millimetres()
		d.line(x0, y0, x1, y1, m)
		at := mark{size: 6, bold: true, ink: cutRGB}
		if c.Y0 == c.Y1 {
			d.text(x0+0.6, y0-1.4, fmt.Sprint(c.Step), at)
		} else {
			d.text(x0+0.5, y0+1.6, fmt.Sprint(c.Step), at)
		}
	}
}

// seams marks the stretch that two pages of a split roll both show.
func (p *Proof) seams(d *drawing, w, from, to, length float64) {
	m := mark{stroke: markRGB, line: 0.4, dashed: true}
	words := mark{size: 8, bold: true, ink: markRGB}
	if from > 0 {
		d.line(-proofEdge+2, from+pageOverlap, w+proofEdge-2, from+pageOverlap, m)
		d.text(2, from+pageOverlap-2, "above this line: also on the page before", words)
	}
	if to < length {
		d.line(-proofEdge+2, to-pageOverlap, w+proofEdge-2, to-pageOverlap, m)
		d.text(2, to-pageOverlap+2.5, "below this line: also on the next page", words)
	}
}

// rulers draws the two checks of the scale and says how to cut.
func (p *Proof) rulers(d *drawing) {
	p.ruler(d, 0, 6, 10, 10, "100 mm")
	p.ruler(d, 0, 15, 8, 12.7, "4 in")
	d.text(112, 5, "Measure both lines on a printed copy: if they are not", mark{size: 8, ink: softRGB})
	d.text(112, 9, "100 mm and 4 in long, print again at 100 %, not fitted.", mark{size: 8, ink: softRGB})
	words := "Cut with scissors along the dashed lines, in the order of the numbers."
	if p.Order.Cut == programme.Trimmer {
		words = "Cut with a trimmer along the dashed lines, edge to edge, in the order of the numbers."
	}
	words += " The triangle marks the top of each artwork."
	for _, art := range p.art {
		if art.pale() {
			words += " Grey behind a picture is not printed."
			break
		}
	}
	d.text(0, 24, words, mark{size: 8, ink: softRGB})
	d.text(0, 28.5, p.Shop, mark{size: 8, ink: softRGB})
}

func (p *Proof) ruler(d *drawing, x, y float64, ticks int, step float64, name string) {
	m := mark{stroke: inkRGB, line: 0.2}
	length := float64(ticks) * step
	d.line(x, y, x+length, y, m)
	for i := range ticks + 1 {
		high := 1.5
		if i == 0 || i == ticks {
			high = 3
		}
		d.line(x+float64(i)*step, y-high, x+float64(i)*step, y, m)
	}
	d.text(x, y+2.4, name, mark{size: 7, ink: softRGB})
}
