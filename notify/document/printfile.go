package document

import (
	"bytes"
	"errors"
	"fmt"
	"image"
	"maps"
	"slices"
	"strconv"
	"strings"

	"codeberg.org/go-pdf/fpdf"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/clean"
	"github.com/kitmuster/kitmuster/programme/sheet"
)

// PrintFile is the file that the printer prints: the art alone, at exact size, on pages
// of exactly the sheet, with a clear ground and nothing that is not in the art.
type PrintFile struct {
	Shop     *programme.Shop
	AsOf     programme.Date
	Order    *sheet.Order
	Pictures map[string][]byte // by artwork code, see Proof
	Dots     bool              // as PNG, whatever the kind says

	art      map[string]*artwork
	mirrored bool // reversed left to right, as the kind's printer wants it
}

// Resolutions of pictures made of dots, in dots an inch at print size: below
// the first they look coarse, below the second they are not printed unless the
// shop file allows it (common practice, no source).
const (
	fineDPI   = 300
	coarseDPI = 150
)

// PDF draws one layout. The warnings name pictures that are coarse at print
// size; an artwork without a picture, or with one that cannot be drawn as it is
// meant or is too coarse, is an error: a printer must not be sent a guess.
func (p *PrintFile) PDF(l *sheet.Layout) (data []byte, warnings []string, err error) {
	if warnings, err = p.read(); err != nil {
		return nil, nil, err
	}
	size := fpdf.SizeType{Wd: l.Width.Millimetres(), Ht: l.Height.Millimetres()}
	doc := proofPDF{paper: barePaper(p.AsOf, size), forms: map[*artwork]fpdf.Template{}, failed: map[*artwork]error{}}
	doc.SetPageBox("trim", 0, 0, size.Wd, size.Ht)
	doc.AddPageFormat("P", size)
	if p.mirrored {
		doc.TransformBegin()
		doc.TransformMirrorHorizontal(size.Wd / 2)
	}
	var d drawing
	for i := range l.Items {
		it := &l.Items[i]
		d.picture(it.X.Millimetres(), it.Y.Millimetres(), it.W.Millimetres(), it.H.Millimetres(), p.art[it.Artwork],
			mark{turned: it.Turned})
	}
	for i := range d.marks {
		if m := &d.marks[i]; m.kind == outlinesMark {
			doc.outlines(m)
		} else {
			doc.image(m)
		}
	}
	if p.mirrored {
		doc.TransformEnd()
	}
	if len(doc.spoilt) > 0 {
		return nil, nil, errors.New(strings.Join(doc.spoilt, " "))
	}
	var b bytes.Buffer
	if err := doc.Output(&b); err != nil {
		return nil, nil, fmt.Errorf("write the print file: %w", err)
	}
	return b.Bytes(), warnings, nil
}

// barePaper returns a document without a font or a letterhead.
func barePaper(asOf programme.Date, size fpdf.SizeType) *paper {
	p := &paper{Fpdf: fpdf.NewCustom(&fpdf.InitType{UnitStr: "mm", Size: size}), lettering: newLettering("")}
	p.SetAutoPageBreak(false, 0)
	p.SetMargins(0, 0, 0)
	p.SetCreationDate(asOf.Time())
	p.SetModificationDate(asOf.Time())
	p.SetCatalogSort(true)
	return p
}

// read reads the pictures of all artworks of the order and looks at their dots.
func (p *PrintFile) read() (warnings []string, err error) {
	if k, ok := p.Shop.Kind(p.Order.Kind); ok {
		p.mirrored = k.Mirrored
	}
	sizes := map[string]bool{}
	for i := range p.Order.Layouts {
		for _, it := range p.Order.Layouts[i].Items {
			sizes[it.Artwork] = true
		}
	}
	p.art = map[string]*artwork{}
	var errs []error
	var none []string
	for _, code := range slices.Sorted(maps.Keys(sizes)) {
		art, ok := p.Shop.Artwork(code)
		if !ok {
			continue
		}
		warning, err := p.readOne(art)
		if errors.Is(err, errNoPicture) {
			none = append(none, code)
		} else if err != nil {
			errs = append(errs, fmt.Errorf("the picture of %s cannot go into a print file: %w", code, err))
		}
		if warning != "" {
			warnings = append(warnings, warning)
		}
	}
	if len(none) > 0 {
		errs = append(errs, fmt.Errorf("%s cannot go into a print file: %w in shop.yaml", strings.Join(none, ", "),
			errNoPicture))
	}
	return warnings, errors.Join(errs...)
}

var errNoPicture = errors.New("there is no picture; name its file")

func (p *PrintFile) readOne(art *programme.Artwork) (warning string, err error) {
	data, given := p.Pictures[art.Code]
	if !given {
		return "", errNoPicture
	}
	a, err := readArtwork(art.Code, data)
	if err != nil {
		return "", err
	}
	if off := a.ratio * float64(art.Height) / float64(art.Width); off > 1+sameShape || off < 1/(1+sameShape) {
		return "", errors.New("it " + a.otherShape(float64(art.Width)/float64(art.Height)))
	}
	p.art[art.Code] = a
	if a.outlines != nil {
		return "", nil
	}
	dots, _, err := image.DecodeConfig(bytes.NewReader(data))
	if err != nil {
		return "", fmt.Errorf("it is broken: %w", err)
	}
	dpi := min(float64(dots.Width)/art.Width.Inches(), float64(dots.Height)/art.Height.Inches())
	switch {
	case dpi < coarseDPI && !art.CoarseAllowed:
		return "", fmt.Errorf("it has %.0f dots an inch at print size, and %d is the least; take a larger picture, or set coarse_allowed for the artwork", dpi, coarseDPI)
	case dpi < fineDPI:
		return fmt.Sprintf("The picture of %s has %.0f dots an inch at print size; below %d it looks coarse.", art.Code,
			dpi, fineDPI), nil
	}
	return "", nil
}

// usualPrintFile is the rule for names where the shop file gives none.
const usualPrintFile = "{kind}-{sheet}-{width}x{height}-x{copies}"

// Printed is one print file.
type Printed struct {
	Name string // see PrintFileName
	Type string // media type
	Data []byte
}

// Files draws what is on the sheets of the order, one file a layout, in the form that its printer takes; see PDF and
// PNG for warnings and errors.
func (p *PrintFile) Files() (files []Printed, warnings []string, err error) {
	kind, draw := PrintPDF, p.PDF
	if k, ok := p.Shop.Kind(p.Order.Kind); p.Dots || ok && k.PrintPNG {
		kind, draw = PrintPNG, p.PNG
	}
	for i := range p.Order.Layouts {
		l := &p.Order.Layouts[i]
		if len(l.Items) == 0 {
			continue
		}
		f := Printed{Name: PrintFileName(p.Shop, p.Order, l, p.AsOf, kind), Type: kind.Type()}
		if f.Data, warnings, err = draw(l); err != nil {
			return nil, nil, err
		}
		files = append(files, f)
	}
	return files, warnings, nil
}

// PrintKind is a form of print files by the ending of its name.
type PrintKind string

// The forms of print files.
const (
	PrintPDF PrintKind = ".pdf"
	PrintPNG PrintKind = ".png"
)

// Type is the MIME type.
func (k PrintKind) Type() string {
	if k == PrintPNG {
		return "image/png"
	}
	return "application/pdf"
}

// PrintFileName fills in the shop's rule for the name of a layout's print file,
// without folder; every name of a layout is another where the rule has {sheet}.
func PrintFileName(shop *programme.Shop, o *sheet.Order, l *sheet.Layout, asOf programme.Date, kind PrintKind) string {
	rule := shop.PrintFileName
	if rule == "" {
		rule = usualPrintFile
	}
	size := func(v programme.Length) string {
		return strings.ReplaceAll(shop.Units.Length(v), " ", "")
	}
	name := strings.NewReplacer("{kind}", o.Kind, "{sheet}", l.Name, "{width}", size(l.Width), "{height}",
		size(l.Height),
		"{copies}", strconv.Itoa(l.Copies), "{printer}", o.Printer, "{date}", asOf.String()).Replace(rule)
	for _, ending := range []PrintKind{PrintPDF, PrintPNG} {
		name = strings.TrimSuffix(name, string(ending))
	}
	return clean.FileName(name) + string(kind)
}
