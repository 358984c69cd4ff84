package document

import (
	"bytes"
	"errors"
	"fmt"
	"image"
	_ "image/jpeg" // the two kinds of photos that a PDF takes
	_ "image/png"
	"maps"
	"net/http"
	"slices"
	"strings"

	"codeberg.org/go-pdf/fpdf"

	"github.com/kitmuster/kitmuster/notify/vector"
	"github.com/kitmuster/kitmuster/programme"
)

// artwork is a picture that can be drawn.
type artwork struct {
	code     string
	outlines *vector.Picture // of an SVG picture
	kind     string          // PNG or JPEG, else
	data     []byte
	ratio    float64 // width by height
	clear    bool    // a photo whose dots may be see-through
}

// groundRGB is laid behind pictures that would else vanish on white paper.
var groundRGB = [3]int{214, 219, 222}

// paleFrom is the lightness, 0 to 1, from which ink is hardly seen on white.
const paleFrom = 0.85

// pale reports whether a picture needs a ground: one with ink as light as paper,
// and one whose dots may be see-through, since white ones are usual there.
func (a *artwork) pale() bool {
	if a.outlines == nil {
		return a.clear
	}
	return slices.ContainsFunc(a.outlines.Shapes, func(s vector.Shape) bool {
		return s.Fill != nil && light(*s.Fill) || s.Stroke != nil && light(s.Stroke.Ink)
	})
}

// light weighs the parts of a colour as ITU-R BT.601 does.
func light(ink vector.Ink) bool {
	return (0.299*float64(ink.RGB[0])+0.587*float64(ink.RGB[1])+0.114*float64(ink.RGB[2]))/255 >= paleFrom
}

// sameShape is by how much the ratio of a picture may differ from its
// artwork's: less is not seen on a chest print.
const sameShape = 0.02

// readPictures reads the pictures of the artworks on this order, once.
func (p *Proof) readPictures() {
	if p.art != nil {
		return
	}
	p.art = map[string]*artwork{}
	sizes, copies := p.sizes()
	for _, code := range slices.Sorted(maps.Keys(sizes)) {
		data, given := p.Pictures[code]
		if !given {
			continue
		}
		size := sizes[code]
		a, err := readArtwork(code, data)
		if err == nil {
			err = a.bearable(copies[code])
		}
		if err == nil {
			a, err = a.lookable(size[0].Inches(), size[1].Inches())
		}
		if err != nil {
			p.spoilt = append(p.spoilt, undrawn(code, err))
			continue
		}
		p.art[code] = a
		if words := a.otherShape(float64(size[0]) / float64(size[1])); words != "" {
			p.spoilt = append(p.spoilt, fmt.Sprintf("The picture of %s %s. Mend the width and height in shop.yaml, or the picture.", code, words))
		}
	}
}

// sizes returns the widths and heights of the artworks on the order, upright, and
// how often each is drawn.
func (p *Proof) sizes() (out map[string][2]programme.Length, copies map[string]int) {
	out, copies = map[string][2]programme.Length{}, map[string]int{}
	for i := range p.Order.Layouts {
		for _, it := range p.Order.Layouts[i].Items {
			copies[it.Artwork]++
			out[it.Artwork] = [2]programme.Length{it.W, it.H}
			if it.Turned {
				out[it.Artwork] = [2]programme.Length{it.H, it.W}
			}
		}
	}
	return out, copies
}

// mostSteps bounds what see-through pictures, which are written anew for each
// copy, may make of a proof: some twenty megabytes before they are packed.
const mostSteps = 1_000_000

func (a *artwork) bearable(copies int) error {
	if a.outlines == nil || a.outlines.Opaque() || a.outlines.Steps() <= mostSteps/copies {
		return nil
	}
	return fmt.Errorf("it has see-through colours and %d points, too many to draw %d times", a.outlines.Steps(), copies)
}

// otherShape says by how much a picture's shape is not its artwork's; nothing
// when it is.
func (a *artwork) otherShape(want float64) string {
	if off := a.ratio / want; off <= 1+sameShape && off >= 1/(1+sameShape) {
		return ""
	}
	return fmt.Sprintf("is %.2f times as wide as it is high, its artwork %.2f times; the proof keeps the picture's shape", a.ratio, want)
}

// CheckPicture tries the picture of an artwork as a proof would. The error is a
// clause that says what is in the way and what comes of it.
func CheckPicture(art *programme.Artwork, data []byte) error {
	a, err := readArtwork(art.Code, data)
	if err == nil && a.outlines == nil {
		trial := proofPDF{paper: newPaper(Head{}, "", fpdf.SizeType{}), failed: map[*artwork]error{}}
		err = trial.take(a)
	}
	if err != nil {
		return fmt.Errorf("%w; proofs show a box instead", err)
	}
	if words := a.otherShape(float64(art.Width) / float64(art.Height)); words != "" {
		return errors.New("it " + words)
	}
	return nil
}

// readArtwork takes a picture whose file anybody may have made: what a reader
// of it stumbles over, even by a panic, is an error here and costs a box.
func readArtwork(code string, data []byte) (a *artwork, err error) {
	defer func() {
		if r := recover(); r != nil {
			a, err = nil, fmt.Errorf("it is broken: %v", r)
		}
	}()
	kind := strings.ToUpper(strings.TrimPrefix(http.DetectContentType(data), "image/"))
	switch {
	case kind == "PNG", kind == "JPEG":
		return readPhoto(code, kind, data)
	case looksLikeSVG(data):
		pic, err := vector.Read(data)
		if err != nil {
			return nil, err
		}
		return &artwork{code: code, outlines: pic, ratio: pic.Width / pic.Height}, nil
	}
	return nil, errors.New("it is neither PNG, JPEG nor SVG")
}

func looksLikeSVG(data []byte) bool {
	head := bytes.TrimSpace(bytes.TrimPrefix(data[:min(len(data), 512)], []byte("\ufeff")))
	return bytes.HasPrefix(head, []byte("<"))
}

// readPhoto looks at a photo's size; what is behind that, the PDF library
// finds out when it takes the photo in.
func readPhoto(code, kind string, data []byte) (*artwork, error) {
	c, _, err := image.DecodeConfig(bytes.NewReader(data))
	if err != nil {
		return nil, fmt.Errorf("it is broken: %w", err)
	}
	if err := checkSize(kind, data, c.Width, c.Height); err != nil {
		return nil, err
	}
	return &artwork{code: code, kind: kind, data: data, ratio: float64(c.Width) / float64(c.Height),
		clear: kind == "PNG"}, nil
}

// undrawn returns the sentence about a picture that is drawn as a box.
func undrawn(code string, why error) string {
	return fmt.Sprintf("The picture of %s cannot be drawn: %v. The proof shows a box with its name instead; a PNG of it always works.", code, why)
}
