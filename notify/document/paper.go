package document

import (
	"bytes"
	"fmt"
	"math"
	"strings"

	"codeberg.org/go-pdf/fpdf"

	"github.com/kitmuster/kitmuster/notify/page"
	"github.com/kitmuster/kitmuster/notify/typeface"
	"github.com/kitmuster/kitmuster/programme"
)

// Head holds what every paper states: who made it, for whom, and when.
type Head struct {
	Shop   string
	Client string
	Units  programme.Units // the shop's: letter paper for inches, else A4
	AsOf   programme.Date  // the date of the file's own record, so that it never differs
	// Fonts is a folder of font files for letters that the papers' own font
	// lacks; empty: the fonts of this machine.
	Fonts string
}

// NewHead returns the head of a shop's paper.
func NewHead(shop *programme.Shop, client string, asOf programme.Date) Head {
	return Head{Shop: shop.Name, Client: client, Units: shop.Units, AsOf: asOf, Fonts: shop.Fonts}
}

// Colours of the papers; all text is near black, for poor printers.
var (
	inkRGB  = [3]int{0x2b, 0x27, 0x22}
	softRGB = [3]int{0x6a, 0x62, 0x57}
	ruleRGB = [3]int{0xb9, 0xb0, 0xa1}
	tintRGB = [3]int{0xf1, 0xec, 0xe2}
	markRGB = [3]int{0xa8, 0x45, 0x1c}
)

const margin = 16.0 // mm

// paper is a document in the making, in millimetres.
type paper struct {
	*fpdf.Fpdf
	lettering
	style
	styled int     // the page that the style was set on
	width  float64 // between the margins
	bottom float64 // last usable y
}

// style is the look of the next words.
type style struct {
	points float64
	bold   bool
	ink    [3]int
}

// newPaper starts a document of pages of the given size, or of the units'
// usual paper when the size is 0.
func newPaper(h Head, title string, size fpdf.SizeType) *paper {
	if size.Wd == 0 {
		size = fpdf.SizeType{Wd: 210, Ht: 297}
		if !h.Units.Metric() {
			size = fpdf.SizeType{Wd: 215.9, Ht: 279.4}
		}
	}
	p := &paper{Fpdf: fpdf.NewCustom(&fpdf.InitType{UnitStr: "mm", Size: size}), lettering: newLettering(h.Fonts)}
	p.SetAutoPageBreak(false, 0)
	p.SetMargins(margin, margin, margin)
	p.AddUTF8FontFromBytes("go", "", regular)
	p.AddUTF8FontFromBytes("go", "B", bold)
	p.SetCreationDate(h.AsOf.Time())
	p.SetModificationDate(h.AsOf.Time())
	p.SetCatalogSort(true)
	p.SetTitle(p.text(title), true)
	p.SetAuthor(p.text(h.Shop), true)
	p.SetLang("en")
	p.width, p.bottom = size.Wd-2*margin, size.Ht-margin-6
	return p
}

// letterhead begins a page with the shop, what the paper is, and a rule.
func (p *paper) letterhead(h Head, title string) {
	p.AddPage()
	p.font(9, false, softRGB)
	p.cell(p.width/2, 5, h.Shop, "L")
	p.cell(p.width/2, 5, h.Client, "R")
	p.Ln(7)
	p.font(18, true, inkRGB)
	p.cell(p.width, 9, title, "L")
	p.Ln(10)
	p.rule(markRGB, 0.6)
	p.Ln(3)
}

func (p *paper) font(size float64, isBold bool, rgb [3]int) {
	next := style{size, isBold, rgb}
	if next == p.style && p.styled == p.PageNo() {
		return // each setting is written into the page
	}
	face := ""
	if isBold {
		face = "B"
	}
	p.style, p.styled = next, p.PageNo()
	p.SetFont("go", face, size)
	p.SetTextColor(rgb[0], rgb[1], rgb[2])
}

// long returns how long a line is, in millimetres.
func (p *paper) long(s string) float64 {
	if p.plain(s) {
		return p.GetStringWidth(s)
	}
	return typeface.Of(p.fonts).Set(s, p.points, p.bold).Width
}

// box writes one line into a box and goes on behind it, or on the next line.
func (p *paper) box(w, h float64, s, align string, next bool) {
	ln := 0
	if next {
		ln = 1
	}
	if p.plain(s) {
		p.CellFormat(w, h, s, "", ln, align, false, 0, "")
		return
	}
	set := typeface.Of(p.fonts).Set(s, p.points, p.bold)
	x, y := p.GetXY()
	switch align {
	case "R":
		x += w - p.GetCellMargin() - set.Width
	case "C":
		x += (w - set.Width) / 2
	default:
		x += p.GetCellMargin()
	}
	p.glyphs(set, x, y+h/2+0.3*p.points*mmPerPoint) // where fpdf has the baseline of a cell
	p.CellFormat(w, h, "", "", ln, align, false, 0, "")
}

// glyphs fills the outlines of a line whose baseline begins there.
func (p *paper) glyphs(s typeface.Line, x, y float64) {
	_, high := p.GetPageSize()
	p.RawWriteStr("q " + letters(p.ink) + typeface.Of(p.fonts).Path(s, x/mmPerPoint, (high-y)/mmPerPoint) + "f Q")
}

// cell writes one line into a box and cuts it where the box ends.
func (p *paper) cell(w, h float64, s, align string) {
	p.box(w, h, p.cut(p.text(s), w), align, false)
}

// cut shortens a line to a width, with an ellipsis.
func (p *paper) cut(s string, w float64) string {
	room := w - 2*p.GetCellMargin()
	if p.long(s) <= room {
		return s
	}
	r := []rune(s)
	for len(r) > 0 && p.long(string(r)+"…") > room {
		r = r[:len(r)-1]
	}
	return string(r) + "…"
}

// leastSize is the smallest type that is read at arm's length, in points.
const leastSize = 7

// piece writes a garment with its colour and size into a box.
func (p *paper) piece(w, h, points float64, rgb [3]int, s string) {
	p.shrunk(w, h, points, false, rgb, s)
}

// shrunk writes a line into a box whose end says as much as its beginning: the size of a garment, the family
// name of a person. A long one is set smaller and, where that is not enough, loses letters of its middle.
func (p *paper) shrunk(w, h, points float64, isBold bool, rgb [3]int, s string) {
	s = p.text(s)
	room := w - 2*p.GetCellMargin()
	p.font(points, isBold, rgb)
	for points > leastSize && p.long(s) > room {
		points -= 0.5
		p.font(points, isBold, rgb)
	}
	p.box(w, h, p.cutMiddle(s, room), "L", false)
}

// cutMiddle shortens a line to a width and keeps its last letters.
func (p *paper) cutMiddle(s string, room float64) string {
	const keep = 14
	r := []rune(s)
	if p.long(s) <= room || len(r) <= keep {
		return s
	}
	head, tail := r[:len(r)-keep], string(r[len(r)-keep:])
	for len(head) > 0 && p.long(string(head)+"…"+tail) > room {
		head = head[:len(head)-1]
	}
	return string(head) + "…" + tail
}

func (p *paper) rule(rgb [3]int, wide float64) {
	p.SetDrawColor(rgb[0], rgb[1], rgb[2])
	p.SetLineWidth(wide)
	p.Line(margin, p.GetY(), margin+p.width, p.GetY())
}

// para writes a paragraph over the whole width.
func (p *paper) para(s string, size float64, isBold bool, rgb [3]int) {
	p.font(size, isBold, rgb)
	lead := size * 0.48
	for _, l := range p.lines(s, p.width) {
		p.room(lead)
		p.box(p.width, lead, l, "L", true)
	}
}

// lines breaks text to a width; a word longer than that is broken too. A line
// break of the text stays.
func (p *paper) lines(s string, w float64) []string {
	var out []string
	for line := range strings.SplitSeq(s, "\n") {
		if line = p.text(line); line == "" {
			out = append(out, "")
			continue
		}
		if p.plain(line) {
			out = append(out, p.SplitText(line, w)...)
			continue
		}
		for _, l := range typeface.Of(p.fonts).Wrap(line, w-2*p.GetCellMargin(), p.points, p.bold) {
			out = append(out, l.Text)
		}
	}
	return out
}

// room starts a new page when less than h is left on this one.
func (p *paper) room(h float64) {
	if p.GetY()+h > p.bottom {
		p.AddPage()
	}
}

// heading writes a title of a section and keeps some room for what follows it.
func (p *paper) heading(s string) {
	p.room(22)
	p.Ln(3)
	p.font(12, true, inkRGB)
	p.cell(p.width, 7, s, "L")
	p.Ln(8)
}

// finish numbers the pages and returns the file with warnings about its text.
func (p *paper) finish(name, foot string) ([]byte, []string, error) {
	n := p.PageCount()
	for i := 1; i <= n && foot != ""; i++ {
		p.SetPage(i)
		_, high := p.GetPageSize()
		p.SetXY(margin, high-margin)
		p.font(8, false, softRGB)
		p.cell(p.width*0.8, 5, foot, "L")
		p.cell(p.width*0.2, 5, fmt.Sprintf("page %d of %d", i, n), "R")
	}
	var b bytes.Buffer
	if err := p.Output(&b); err != nil {
		return nil, nil, fmt.Errorf("write %s: %w", name, err)
	}
	return b.Bytes(), p.warnings(name), nil
}

// table draws a table; long cells wrap, and the heading stands on every page.
func (p *paper) table(t page.Table) {
	d := tableOnPaper{p, &t, t.Shares()}
	head := d.lay(d.head(), true)
	first := head.high // a head without a row below it says nothing
	if len(t.Rows) > 0 {
		first += d.lay(t.Rows[0], false).high
	}
	p.room(first)
	d.row(head, true)
	for i := range t.Rows {
		r := d.lay(t.Rows[i], false)
		need := r.high
		if i == len(t.Rows)-2 { // no page begins with the last row alone
			need += d.lay(t.Rows[i+1], false).high
		}
		if i >= len(t.Rows)-2 && t.Foot != nil {
			need += d.lay(t.Foot, true).high // nor with the sum
		}
		if p.GetY()+need > p.bottom {
			p.AddPage()
			d.row(head, true)
		}
		d.row(r, false)
	}
	if t.Foot != nil {
		d.row(d.lay(t.Foot, true), false)
	}
}

// tableOnPaper is a table with the widths of its columns.
type tableOnPaper struct {
	*paper
	t      *page.Table
	shares []float64
}

func (d tableOnPaper) head() []page.Text {
	out := make([]page.Text, len(d.t.Columns))
	for i, c := range d.t.Columns {
		out[i] = page.Plain(c.Head)
	}
	return out
}

// tableRow is a row broken into lines.
type tableRow struct {
	lines [][]string // of each cell
	bold  bool
	high  float64
}

const rowLead = 4.9

// lay breaks the cells of a row.
func (d tableOnPaper) lay(cells []page.Text, isBold bool) tableRow {
	d.font(10, isBold, inkRGB)
	r := tableRow{lines: d.wrapped(cells), bold: isBold}
	n := 1
	for _, lines := range r.lines {
		n = max(n, len(lines))
	}
	r.high = float64(n)*rowLead + 2
	return r
}

// wrapped are the lines of each cell. Cells of equally many lines of their own say
// things that belong together, line by line: where one of them wraps, the others
// leave room, so that each stays beside what it belongs to.
func (d tableOnPaper) wrapped(cells []page.Text) [][]string {
	most := 1 // lines of their own
	for _, c := range cells {
		most = max(most, 1+strings.Count(c.String(), "\n"))
	}
	out := make([][]string, len(cells))
	var together []int
	for i, c := range cells {
		if most > 1 && 1+strings.Count(c.String(), "\n") == most {
			together = append(together, i)
			continue
		}
		out[i] = d.lines(c.String(), d.wide(cells, i))
	}
	for k := range most {
		high := 0
		for _, i := range together {
			out[i] = append(out[i], d.lines(strings.Split(cells[i].String(), "\n")[k], d.wide(cells, i))...)
			high = max(high, len(out[i]))
		}
		for _, i := range together {
			for k < most-1 && len(out[i]) < high {
				out[i] = append(out[i], "")
			}
		}
	}
	return out
}

// wide is the width of a cell; that of a group is the whole table.
func (d tableOnPaper) wide(cells []page.Text, i int) float64 {
	if d.t.Spans(cells) {
		return d.width
	}
	return d.shares[i] * d.width
}

func (d tableOnPaper) row(r tableRow, tinted bool) {
	d.font(10, r.bold, inkRGB)
	x, y := margin, d.GetY()
	if tinted {
		d.SetFillColor(tintRGB[0], tintRGB[1], tintRGB[2])
		d.Rect(x, y, d.width, r.high, "F")
	}
	for i, lines := range r.lines {
		w := d.shares[i] * d.width
		if len(r.lines) == 1 {
			w = d.width
		}
		align := "L"
		if d.t.Columns[i].Right {
			align = "R"
		}
		for j, l := range lines {
			d.SetXY(x, y+1+float64(j)*rowLead)
			d.box(w, rowLead, l, align, false)
		}
		x += w
	}
	d.SetXY(margin, y+r.high)
	d.rule(ruleRGB, 0.2)
}

// facts writes pairs of a name and a value, so many to a line.
func (p *paper) facts(pairs []page.Fact, columns int) {
	wide := p.width / float64(columns)
	for i := 0; i < len(pairs); i += columns {
		y, h := p.GetY(), 0.0
		for j := i; j < min(i+columns, len(pairs)); j++ {
			h = math.Max(h, p.fact(pairs[j], margin+float64(j-i)*wide, y, wide))
		}
		p.SetXY(margin, y+h+1)
	}
}

func (p *paper) fact(pair page.Fact, x, y, w float64) float64 {
	p.SetXY(x, y)
	p.font(8, false, softRGB)
	p.cell(w, 4, pair.Label, "L")
	p.font(11, false, inkRGB)
	lines := p.lines(pair.Value, w)
	for i, l := range lines {
		p.SetXY(x, y+4+float64(i)*5.2)
		p.box(w, 5.2, l, "L", false)
	}
	return 4 + 5.2*float64(len(lines)) + 1
}

// letters returns a colour as the operator that fills with it.
func letters(rgb [3]int) string {
	var b strings.Builder
	for _, v := range rgb {
		b.WriteString(num(float64(v)/255) + " ")
	}
	return b.String() + "rg "
}
