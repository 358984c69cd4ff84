package main

import (
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"slices"

	"github.com/kitmuster/kitmuster/notify/document"
	"github.com/kitmuster/kitmuster/notify/wholefile"
	"github.com/kitmuster/kitmuster/programme/sheet"
)

// printFiles writes what the printers print into a folder, one file a layout.
func (p *sheetPapers) printFiles(folder string) error {
	files := map[string][]byte{}
	for i := range p.plan.Orders {
		if err := p.printOrder(&p.plan.Orders[i], files); err != nil {
			return err
		}
	}
	if err := os.MkdirAll(folder, 0o755); err != nil {
		return fmt.Errorf("make the folder for print files: %w", err)
	}
	for _, name := range slices.Sorted(maps.Keys(files)) {
		if err := wholefile.Write(filepath.Join(folder, name), files[name]); err != nil {
			return err
		}
	}
	return nil
}

// printOrder adds the print files of an order by their names.
func (p *sheetPapers) printOrder(o *sheet.Order, files map[string][]byte) error {
	art := document.PrintFile{Shop: p.shop, AsOf: p.asOf, Order: o, Pictures: p.pictures(o), Dots: p.dots}
	printed, warnings, err := art.Files()
	if err != nil {
		return err
	}
	for _, w := range warnings {
		fmt.Fprintf(p.warn, "kitmuster: %s\n", w)
	}
	for _, f := range printed {
		if files[f.Name] != nil {
			return fmt.Errorf("two print files would be named %s; put {kind} and {sheet} into print_file_name", f.Name)
		}
		files[f.Name] = f.Data
	}
	return nil
}
