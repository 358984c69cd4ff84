package main

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/sheet"
	"github.com/kitmuster/kitmuster/programme/sheet/lists"
	"github.com/kitmuster/kitmuster/programme/sheet/pack"
)

// packFlags are the flags of 'sheet pack'. Lengths are text until the unit is known.
type packFlags struct {
	width, height, gutter, margin, rects string
	proof, drawings                      string
	noTurn, trimmer, asJSON              bool
	search                               searchFlags
}

func newSheetPackCommand(a *app) *cobra.Command {
	var f packFlags
	c := &cobra.Command{
		Use:   "pack",
		Short: "Pack bare rectangles on a roll or on sheets",
		Long: `Packs rectangles on a strip of the given width so that it is short or, with --height,
on as few sheets as possible. Lengths are bare numbers of one unit, or carry their
unit (3.5in, 90mm). The list has width, height and, if wanted, count and label.

--proof and --svg draw what was packed at true scale, for which lengths need a unit.`,
		Example: "  kitmuster sheet pack --width 22in --gutter 0.25in --margin 0.25in --rects images.csv",
		RunE: func(cmd *cobra.Command, _ []string) error {
			if f.width == "" || f.rects == "" {
				return usagef("'%s' wants --width and --rects; see '%s --help'", cmd.CommandPath(), cmd.CommandPath())
			}
			return f.run(cmd.Context(), a)
		},
	}
	c.Flags().StringVar(&f.width, "width", "", "width of the strip or sheet")
	c.Flags().StringVar(&f.height, "height", "", "height of a sheet (default: a strip without end)")
	c.Flags().StringVar(&f.gutter, "gutter", "0", "space between two rectangles")
	c.Flags().StringVar(&f.margin, "margin", "0", "space at every edge")
	c.Flags().StringVar(&f.rects, "rects", "", "list of rectangles: w,h[,count,label]")
	c.Flags().BoolVar(&f.noTurn, "no-turn", false, "allow no quarter turns")
	c.Flags().BoolVar(&f.trimmer, "trimmer", false, "only what straight cuts from edge to edge take apart")
	c.Flags().StringVar(&f.proof, "proof", "", "write a drawing at true scale to this PDF file")
	c.Flags().StringVar(&f.drawings, "svg", "", "write a drawing of each sheet into this folder")
	c.Flags().BoolVar(&f.asJSON, "json", false, "print the sheets for other programs")
	f.search.register(c, 1)
	return c
}

// packing is one problem in whole numbers: perUnit of them are one unit.
type packing struct {
	unit                          string
	perUnit                       float64
	width, height, gutter, margin int64
	rects                         []lists.Rect
}

func (f *packFlags) run(ctx context.Context, a *app) error {
	p, err := f.read()
	if err != nil {
		return err
	}
	budget, err := f.search.budget(ctx)
	if err != nil {
		return err
	}
	opt := pack.Options{Seed: budget.Seed, Iterations: budget.Iterations, Stop: budget.Stop, Guillotine: f.trimmer}
	sheets, height, err := p.pack(!f.noTurn, opt)
	if large, ok := errors.AsType[pack.TooLarge](err); ok {
		r := p.rects[large.Piece]
		return fmt.Errorf("rectangle %s of %v by %v does not fit the width of %s inside its margins", r.Label, r.W,
			r.H, f.width)
	}
	if err != nil {
		return err
	}
	out := p.report(sheets, height, !f.noTurn)
	if err := f.draw(a, p, &out); err != nil {
		return err
	}
	if f.asJSON {
		return writeJSON(a.out, out)
	}
	return printPacking(a.out, &out)
}

// read turns flags and list into whole numbers, fine enough for every decimal
// place that was written.
func (f *packFlags) read() (*packing, error) {
	data, err := os.ReadFile(f.rects)
	if err != nil {
		return nil, fmt.Errorf("read the list of rectangles: %w", err)
	}
	var m lists.Measure
	lengths := make([]float64, 4)
	for i, flag := range []struct{ name, text string }{{"width", f.width}, {"height", f.height}, {"gutter", f.gutter},
		{"margin", f.margin}} {
		if flag.text == "" {
			continue
		}
		if lengths[i], err = m.Read(flag.text); err != nil {
			return nil, usagef("--%s is %q; %w", flag.name, flag.text, err)
		}
		if i < 2 && lengths[i] == 0 {
			return nil, usagef("--%s must be more than 0", flag.name)
		}
	}
	p := &packing{}
	if p.rects, err = lists.ReadRects(f.rects, data, &m); err != nil {
		return nil, err
	}
	all := lengths
	for _, r := range p.rects {
		all = append(all, r.W, r.H)
	}
	p.unit, p.perUnit = m.Unit, fineness(all)
	if f.proof+f.drawings != "" && p.unit == "" {
		return nil, usagef("--proof and --svg draw at true scale, so the lengths need a unit, such as --width 22in")
	}
	p.width, p.height, p.gutter, p.margin = p.whole(lengths[0]), p.whole(lengths[1]), p.whole(lengths[2]),
		p.whole(lengths[3])
	return p, p.inRange()
}

// fineness returns the power of ten that makes all lengths whole, at most a million.
func fineness(lengths []float64) float64 {
	scale := 1.0
	for _, v := range lengths {
		for scale < 1e6 && math.Abs(v*scale-math.Round(v*scale)) > 1e-6 {
			scale *= 10
		}
	}
	return scale
}

func (p *packing) whole(v float64) int64 { return int64(math.Round(v * p.perUnit)) }

// inRange refuses numbers so large and fine that areas could not be added up.
func (p *packing) inRange() error {
	var area float64
	for _, r := range p.rects {
		area += (r.W*p.perUnit + float64(p.gutter)) * (r.H*p.perUnit + float64(p.gutter)) * float64(r.Count)
	}
	if area > 1e17 || float64(p.width)*float64(max(p.height, 1)) > 1e17 {
		return errors.New("the lengths are too large for the number of decimal places they carry; use a larger unit or fewer places")
	}
	return nil
}

// draw writes the drawings that are asked for, as a proof of transfers draws its sheets.
func (f *packFlags) draw(a *app, p *packing, out *sheetsJSON) error {
	if f.proof+f.drawings == "" {
		return nil
	}
	in := func(v float64) programme.Length {
		l, _ := programme.ParseLength(strconv.FormatFloat(v, 'f', -1, 64) + p.unit) // the unit was read before
		return l
	}
	o := sheet.Order{Kind: "rectangles", Sheet: programme.SheetSize{Roll: p.height == 0}, Cut: programme.Scissors,
		Gutter: in(float64(p.gutter) / p.perUnit), Margin: in(float64(p.margin) / p.perUnit)}
	if f.trimmer {
		o.Cut = programme.Trimmer
	}
	for i := range out.Sheets {
		s := &out.Sheets[i]
		l := sheet.Layout{Name: s.Name, Copies: s.Copies, Width: in(s.Width), Height: in(s.Height), Fill: s.Fill}
		for _, it := range s.Items {
			l.Items = append(l.Items, sheet.Item{Artwork: it.Label, X: in(it.X), Y: in(it.Y), W: in(it.W), H: in(it.H),
				Turned: it.Turned})
		}
		o.Layouts = append(o.Layouts, l)
	}
	shop := &programme.Shop{Units: programme.Millimetres}
	if strings.HasPrefix(p.unit, "in") || p.unit == `"` {
		shop.Units = programme.Inches
	}
	papers := sheetPapers{shop: shop, plan: &sheet.Plan{Orders: []sheet.Order{o}}, warn: a.err}
	d := papers.proofOf(&o)
	d.Ref, d.Kind = filepath.Base(f.rects), "Rectangles"
	if f.proof != "" {
		if err := papers.pdf(d, f.proof); err != nil {
			return err
		}
	}
	if f.drawings != "" {
		return papers.svg(d, f.drawings, &o, f.proof == "")
	}
	return nil
}

// pack packs on sheets or, without a height, on one strip whose height it returns.
func (p *packing) pack(turn bool, opt pack.Options) ([][]pack.Place, int64, error) {
	pieces := p.pieces(turn)
	if p.height > 0 {
		sheets, err := pack.Bins(pieces, p.inner(p.width), p.inner(p.height), opt)
		return sheets, p.height, err
	}
	places, height, err := pack.Strip(pieces, p.inner(p.width), opt)
	return [][]pack.Place{places}, height - p.gutter + 2*p.margin, err
}

func (p *packing) pieces(turn bool) []pack.Piece {
	pieces := make([]pack.Piece, len(p.rects))
	for i, r := range p.rects {
		pieces[i] = pack.Piece{W: p.whole(r.W) + p.gutter, H: p.whole(r.H) + p.gutter, Count: r.Count, Turn: turn}
	}
	return pieces
}

func (p *packing) inner(v int64) int64 { return v - 2*p.margin + p.gutter }

// proven reports that no packing is shorter, or takes fewer sheets.
func (p *packing) proven(sheets [][]pack.Place, height int64, turn bool) bool {
	if p.height > 0 {
		return len(sheets) <= pack.Bound(p.pieces(turn), p.inner(p.width), p.inner(p.height))
	}
	return p.inner(height) <= pack.StripBound(p.pieces(turn), p.inner(p.width))
}

func (p *packing) report(sheets [][]pack.Place, height int64, turn bool) sheetsJSON {
	proven := p.proven(sheets, height, turn)
	in := func(v int64) float64 { return neat(float64(v) / p.perUnit) }
	out := sheetsJSON{Format: 1, Unit: p.unit, Sheets: []sheetJSON{}, Over: map[string]int{}}
	var images float64
	for i, places := range sheets {
		s := sheetJSON{Name: fmt.Sprint(i + 1), Copies: 1, Width: in(p.width), Height: in(height), Proven: proven}
		var area float64
		for _, q := range places {
			it := itemJSON{Label: p.rects[q.Piece].Label, X: in(q.X + p.margin), Y: in(q.Y + p.margin),
				W: in(q.W - p.gutter), H: in(q.H - p.gutter), Turned: q.Turned}
			area += it.W * it.H
			s.Items = append(s.Items, it)
		}
		slices.SortStableFunc(s.Items,
			func(a, b itemJSON) int { return cmp.Or(cmp.Compare(a.Y, b.Y), cmp.Compare(a.X, b.X)) })
		s.Fill = area / (s.Width * s.Height)
		images += area
		out.Sheets = append(out.Sheets, s)
		out.UsedLength = neat(out.UsedLength + s.Height)
	}
	out.Fill = images / (in(p.width) * out.UsedLength)
	return out
}

func printPacking(w io.Writer, out *sheetsJSON) error {
	unit := strings.TrimRight(" "+out.Unit, " ")
	if len(out.Sheets) == 1 {
		fmt.Fprintf(w, "Used length %v%s, %.1f %% covered\n", out.UsedLength, unit, 100*out.Fill)
	} else {
		fmt.Fprintf(w, "%d sheets of %v × %v%s, %.1f %% covered\n", len(out.Sheets), out.Sheets[0].Width,
			out.Sheets[0].Height, unit, 100*out.Fill)
	}
	if out.Sheets[0].Proven {
		fmt.Fprintln(w, "No packing takes less: this was proven.")
	}
	for _, s := range out.Sheets {
		for _, it := range s.Items {
			turned := ""
			if it.Turned {
				turned = "  turned"
			}
			fmt.Fprintf(w, "  sheet %s  %-12s at %v, %v  %v × %v%s\n", s.Name, it.Label, it.X, it.Y, it.W, it.H, turned)
		}
	}
	return nil
}
