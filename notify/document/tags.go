package document

import (
	"fmt"

	"codeberg.org/go-pdf/fpdf"

	"github.com/kitmuster/kitmuster/programme"
)

// Tag is the label of one bag.
type Tag struct {
	Name  string // of the person, or what the bag is for
	Under string // site, staff number
	Lines []string
}

// Tags is the labels of one job.
type Tags struct {
	Head
	Sheet programme.LabelSheet
	Ref   string // "Proposal 17"
	Tags  []Tag
}

// PDF draws the tags on label sheets of the given measures, row by row. What
// does not fit one label goes on with the next one.
func (t *Tags) PDF() ([]byte, []string, error) {
	s := t.Sheet
	if err := checkLabels(s); err != nil {
		return nil, nil, fmt.Errorf("draw bag tags: %w", err)
	}
	p := newPaper(t.Head, "Bag tags, "+t.Ref,
		fpdf.SizeType{Wd: s.PageWidth.Millimetres(), Ht: s.PageHeight.Millimetres()})
	n := 0
	for i := range t.Tags {
		for _, part := range t.parts(&t.Tags[i]) {
			if n%(s.Columns*s.Rows) == 0 {
				p.AddPage()
			}
			on := n % (s.Columns * s.Rows)
			x := (s.Left + programme.Length(on%s.Columns)*s.PitchX).Millimetres()
			y := (s.Top + programme.Length(on/s.Columns)*s.PitchY).Millimetres()
			p.tag(part, t, x, y)
			n++
		}
	}
	return p.finish("The sheet of bag tags", "")
}

// checkLabels refuses measures that do not fit the page.
func checkLabels(s programme.LabelSheet) error {
	right := s.Left + programme.Length(s.Columns-1)*s.PitchX + s.Width
	low := s.Top + programme.Length(s.Rows-1)*s.PitchY + s.Height
	switch {
	case s.Columns < 1 || s.Rows < 1 || s.Width < 20*programme.Millimetre || s.Height < 12*programme.Millimetre:
		return fmt.Errorf("the label sheet has %d by %d labels of %v by %v mm; a tag needs at least 20 by 12 mm",
			s.Columns, s.Rows, s.Width.Millimetres(), s.Height.Millimetres())
	case right > s.PageWidth || low > s.PageHeight:
		return fmt.Errorf("the labels reach to %v by %v mm, but the page measures %v by %v mm", right.Millimetres(),
			low.Millimetres(), s.PageWidth.Millimetres(), s.PageHeight.Millimetres())
	case s.Columns > 1 && s.PitchX < s.Width || s.Rows > 1 && s.PitchY < s.Height:
		return fmt.Errorf("labels of %v by %v mm overlap when the next begins after %v by %v mm", s.Width.Millimetres(),
			s.Height.Millimetres(), s.PitchX.Millimetres(), s.PitchY.Millimetres())
	}
	return nil
}

const (
	tagTop   = 11.5 // mm down to the first line, below name and site
	tagFoot  = 4.5  // mm for the reference
	tagLead  = 4.2
	tagTight = 3.1 // lead at which more lines are set before a tag is split
)

// parts splits a tag that has more lines than one label takes.
func (t *Tags) parts(tag *Tag) []Tag {
	high := t.Sheet.Height.Millimetres() - tagTop - tagFoot
	room := max(1, int(high/tagLead))
	if len(tag.Lines) <= max(room, int(high/tagTight)) {
		return []Tag{*tag}
	}
	of := (len(tag.Lines) + room - 1) / room
	var out []Tag
	for i := range of {
		out = append(out, Tag{tag.Name, fmt.Sprintf("bag %d of %d · %s", i+1, of, tag.Under),
			tag.Lines[i*room : min(len(tag.Lines), (i+1)*room)]})
	}
	return out
}

func (p *paper) tag(tag Tag, t *Tags, x, y float64) {
	w := t.Sheet.Width.Millimetres() - 4
	p.SetXY(x+2, y+1.5)
	p.shrunk(w, 5.5, 13, true, inkRGB, tag.Name)
	p.SetXY(x+2, y+7)
	p.font(8, false, softRGB)
	p.cell(w, 4, tag.Under, "L")
	lead := tagLead
	if n := float64(len(tag.Lines)); n > 0 {
		lead = max(tagTight, min(tagLead, (t.Sheet.Height.Millimetres()-tagTop-tagFoot)/n))
	}
	for i, l := range tag.Lines {
		p.SetXY(x+2, y+tagTop+float64(i)*lead)
		p.piece(w, lead, max(leastSize, 9.5*lead/tagLead), inkRGB, l)
	}
	p.SetXY(x+2, y+t.Sheet.Height.Millimetres()-tagFoot)
	p.font(7, false, softRGB)
	p.cell(w, 3.5, t.Client+" · "+t.Ref, "R")
}
