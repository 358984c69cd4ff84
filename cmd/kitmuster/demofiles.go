package main

import (
	"bytes"
	"embed"
	"io"
	"os"
	"path/filepath"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/notify/wholefile"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/ledger"
	"github.com/kitmuster/kitmuster/programme/roster"
	"github.com/kitmuster/kitmuster/programme/setup"
	"github.com/kitmuster/kitmuster/programme/simulate"
	"github.com/kitmuster/kitmuster/programme/stock"
)

// demoArtwork holds the pictures that the demo's shop prints, one a file named
// by its artwork. They were drawn for it.
//
//go:embed artwork/*.svg
var demoArtwork embed.FS

// artworkDir is the folder of the pictures, in the program and in the shop.
const artworkDir = "artwork"

// writeDemoArtwork puts the pictures beside shop.yaml and names them there.
func writeDemoArtwork(dir string, artworks []programme.Artwork) error {
	if err := os.MkdirAll(filepath.Join(dir, artworkDir), 0o755); err != nil {
		return err
	}
	for i := range artworks {
		a := &artworks[i]
		a.File = artworkDir + "/" + a.Code + ".svg"
		picture, err := demoArtwork.ReadFile(a.File)
		if err != nil {
			return err
		}
		if err := wholefile.Write(filepath.Join(dir, a.File), picture); err != nil {
			return err
		}
	}
	return nil
}

// writeDemoFiles writes what an owner would hand over.
func writeDemoFiles(dir string, w *simulate.World) error {
	for _, sub := range []string{books.ProgrammesDir, rostersDir, ledgersDir} {
		if err := os.MkdirAll(filepath.Join(dir, sub), 0o755); err != nil {
			return err
		}
	}
	if err := writeDemoArtwork(dir, w.Shop.Artworks); err != nil {
		return err
	}
	if err := wholefile.Write(filepath.Join(dir, books.ShopFile), setup.WriteShop(&w.Shop)); err != nil {
		return err
	}
	for i := range w.Cases {
		if err := writeDemoClient(dir, &w.Cases[i]); err != nil {
			return err
		}
	}
	return writeCSV(filepath.Join(dir, stockFile), func(out io.Writer) error { return stock.Write(out, w.Stock) })
}

func writeDemoClient(dir string, c *simulate.Case) error {
	code := c.Client.Code
	if err := wholefile.Write(filepath.Join(dir, books.ProgrammesDir, code+".yaml"),
		setup.WriteClient(&c.Client)); err != nil {
		return err
	}
	err := writeCSV(filepath.Join(dir, rosterFile(code)),
		func(out io.Writer) error { return roster.Write(out, c.Roster) })
	if err != nil {
		return err
	}
	return writeCSV(filepath.Join(dir, ledgerFile(code)),
		func(out io.Writer) error { return ledger.Write(out, c.Ledger) })
}

func writeCSV(path string, write func(io.Writer) error) error {
	var b bytes.Buffer
	if err := write(&b); err != nil {
		return err
	}
	return wholefile.Write(path, b.Bytes())
}
