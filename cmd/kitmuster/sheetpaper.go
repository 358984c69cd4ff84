package main

import (
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"

	"github.com/kitmuster/kitmuster/notify/document"
	"github.com/kitmuster/kitmuster/notify/wholefile"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/clean"
	"github.com/kitmuster/kitmuster/programme/sheet"
	"github.com/kitmuster/kitmuster/programme/sheet/inspect"
)

// soundPlan returns the faults that the inspector finds in a plan as one error; nil where it finds none.
func soundPlan(shop *programme.Shop, plan *sheet.Plan) error {
	faults := inspect.Plan(shop, plan)
	if len(faults) == 0 {
		return nil
	}
	errs := []error{errUnsound}
	for _, s := range faults {
		errs = append(errs, errors.New(s))
	}
	return errors.Join(errs...)
}

// sheetPapers writes the papers that go with a plan.
type sheetPapers struct {
	shop *programme.Shop
	home string
	plan *sheet.Plan
	asOf programme.Date
	warn io.Writer
	dots bool // print files as PNG
}

// write makes the files that are named. With orders of several kinds, each
// proof gets the kind's code before its ending.
func (p *sheetPapers) write(proof, drawings, list string) error {
	if list != "" {
		data, err := document.OrderList(p.shop, p.plan, nil)
		if err != nil {
			return err
		}
		if err := wholefile.Write(list, data); err != nil {
			return err
		}
	}
	if proof == "" && drawings == "" {
		return nil
	}
	for i := range p.plan.Orders {
		o := &p.plan.Orders[i]
		d := p.proofOf(o)
		if proof != "" {
			if err := p.pdf(d, p.fileOf(proof, o)); err != nil {
				return err
			}
		}
		if drawings != "" {
			if err := p.svg(d, drawings, o, proof == ""); err != nil {
				return err
			}
		}
	}
	return nil
}

func (p *sheetPapers) fileOf(name string, o *sheet.Order) string {
	if len(p.plan.Orders) == 1 {
		return name
	}
	ext := filepath.Ext(name)
	return name[:len(name)-len(ext)] + "-" + clean.FileName(o.Kind) + ext
}

func (p *sheetPapers) proofOf(o *sheet.Order) *document.Proof {
	return &document.Proof{
		Head:  document.NewHead(p.shop, "", p.asOf),
		Ref:   "Transfers of " + p.shop.DateStyle.Date(p.asOf),
		Dates: p.shop.DateStyle, Order: o, Kind: p.shop.KindName(o.Kind), Pictures: p.pictures(o),
		Artwork: p.shop.Artwork,
	}
}

// pictures reads the artwork files that the shop file names; one that cannot
// be read is said and drawn as a box.
func (p *sheetPapers) pictures(o *sheet.Order) map[string][]byte {
	pictures := map[string][]byte{}
	said := map[string]bool{}
	for i := range o.Layouts {
		for _, it := range o.Layouts[i].Items {
			art, ok := p.shop.Artwork(it.Artwork)
			if !ok || art.Picture() == "" || said[art.Code] || pictures[art.Code] != nil {
				continue
			}
			data, err := os.ReadFile(filepath.Join(p.home, filepath.FromSlash(art.Picture())))
			if err != nil {
				fmt.Fprintf(p.warn, "kitmuster: the picture of %s is left out of the proof: %v\n", art.Code, err)
				said[art.Code] = true
				continue
			}
			pictures[art.Code] = data
		}
	}
	return pictures
}

func (p *sheetPapers) pdf(d *document.Proof, file string) error {
	data, warnings, err := d.PDF()
	if err != nil {
		return err
	}
	for _, w := range warnings {
		fmt.Fprintf(p.warn, "kitmuster: %s\n", w)
	}
	return wholefile.Write(file, data)
}

// svg writes the drawings, and what they could not show where no proof says so.
func (p *sheetPapers) svg(d *document.Proof, folder string, o *sheet.Order, alone bool) error {
	if err := os.MkdirAll(folder, 0o755); err != nil {
		return fmt.Errorf("make the folder for drawings: %w", err)
	}
	pages, warnings := d.SVG()
	for _, w := range warnings {
		if alone {
			fmt.Fprintf(p.warn, "kitmuster: %s\n", w)
		}
	}
	for i, data := range pages {
		if err := wholefile.Write(filepath.Join(folder, fmt.Sprintf("%s-%02d.svg", clean.FileName(o.Kind), i+1)),
			data); err != nil {
			return err
		}
	}
	return nil
}
