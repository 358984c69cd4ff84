package main

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"github.com/spf13/cobra"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/simulate"
)

// demoDay is the Monday on which the invented shop runs its round.
var demoDay = programme.NewDate(2026, 3, 2)

func newDemoCommand(a *app) *cobra.Command {
	into := ""
	c := &cobra.Command{
		Use:   "demo",
		Short: "Make an invented shop in an empty folder and run a round there",
		Long: `Writes the files of a shop of our own invention into an empty folder: shop.yaml,
seven programmes, rosters, ledgers of two years, the stock. Then it hands them over
as an owner would, and runs the round of a Monday: who is due, what to order, on
which transfer sheets, and the mails. Nothing is sent; mails go to a folder.

Everything in it is made up. The same version makes the same folder every time.`,
		Example: "  kitmuster demo --into my-demo",
		RunE: func(cmd *cobra.Command, _ []string) error {
			return a.demo(cmd.Context(), into)
		},
	}
	c.Flags().StringVar(&into, "into", "kitmuster-demo", "folder to make; it must be empty or not there yet")
	return c
}

// emptyFolder makes the folder, and refuses one with anything in it: a demo
// must never mix with a shop's own files.
func emptyFolder(dir string) error {
	entries, err := os.ReadDir(dir)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return os.MkdirAll(dir, 0o755)
	case err != nil:
		return fmt.Errorf("the demo cannot use %s as its folder: %w", dir, err)
	case len(entries) > 0:
		return fmt.Errorf("the folder %s is not empty (it holds %s); the demo writes only into an empty one, so name another with --into, or remove it first",
			dir, entries[0].Name())
	}
	return nil
}

func (a *app) demo(ctx context.Context, dir string) error {
	if err := emptyFolder(dir); err != nil {
		return err
	}
	w := simulate.NewWorld(demoDay, simulate.Seed(simulate.DemoSeed))
	return a.demoOf(ctx, dir, &w)
}

// demoOf makes a shop of an invented world and runs its round.
func (a *app) demoOf(ctx context.Context, dir string, w *simulate.World) error {
	if err := writeDemoFiles(dir, w); err != nil {
		return fmt.Errorf("write the demo's files: %w", err)
	}
	b, err := books.Create(ctx, dir)
	if err != nil {
		return err
	}
	err = a.demoRound(ctx, b, w)
	return errors.Join(err, b.Close())
}

// Folders that the demo has and other shops do not.
const (
	rostersDir = "rosters"
	ledgersDir = "ledgers"
	stockFile  = "stock.csv"
)

func rosterFile(client string) string { return filepath.Join(rostersDir, client+".csv") }
func ledgerFile(client string) string { return filepath.Join(ledgersDir, client+".csv") }
