package main

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"github.com/spf13/cobra"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/config"
	"github.com/kitmuster/kitmuster/notify/wholefile"
	"github.com/kitmuster/kitmuster/programme/draft"
	"github.com/kitmuster/kitmuster/programme/setup"
)

// intakeDir is the folder of the shop with the answers programmes were drafted from.
const intakeDir = "intake"

func newInitCommand(a *app) *cobra.Command {
	in := &interview{}
	c := &cobra.Command{
		Use:   "init",
		Short: "Start a shop in this folder: a few questions, then its files",
		Long: `Asks a few questions (or takes the answers as flags) and writes shop.yaml with a
starter catalogue, config.yaml, and, for a first client, an intake sheet and the
programme drafted from it; and it makes the database. Prices and lead times in the
catalogue are examples: put in your own. Nothing that is there is written over. Next
comes 'kitmuster programme apply'.`,
		Example: "  kitmuster init\n" +
			"  kitmuster --home shop init --name \"Corner Press\" --owner \"Ann Tilling\" --email ann@cornerpress.example",
		RunE: func(cmd *cobra.Command, _ []string) error {
			if _, err := os.Stat(filepath.Join(a.home, books.ShopFile)); !errors.Is(err, fs.ErrNotExist) {
				return errors.Join(err, fmt.Errorf("there is a shop.yaml in %s already; nothing was written", a.home))
			}
			if err := in.hold(cmd, a); err != nil {
				return err
			}
			return a.begin(in)
		},
	}
	in.register(c)
	return c
}

// hold asks for what flags have not answered; without a terminal, missing answers are an error.
func (in *interview) hold(cmd *cobra.Command, a *app) error {
	ask := &asker{given: cmd.Flags().Changed}
	if a.onTerminal() {
		ask.in, ask.out = bufio.NewReader(a.in), a.out
	}
	return in.run(ask)
}

// begin writes the folder. Everything is worked out before the first file is written.
func (a *app) begin(in *interview) error {
	text := append([]byte("# A starter catalogue: every price, lead time and minimum in it is an example. Put in your own.\n"+
		"# Add the days on which you, your suppliers and carriers do not work, such as:\n# closed: [2026-11-26, 2026-12-24/2027-01-01]\n"), setup.WriteShop(setup.Starter(in.start()))...)
	shop, err := setup.ReadShop(books.ShopFile, text)
	if err != nil {
		return err
	}
	var drafted *draft.Draft
	sheet := in.intake()
	if sheet != nil {
		if _, err := setup.ReadIntake("the answers", setup.WriteIntake(sheet), shop); err != nil {
			return err
		}
		if drafted, err = draft.Make(shop, sheet); err != nil {
			return err
		}
	}
	if err := a.writeStart(text, sheet); err != nil {
		return err
	}
	if drafted != nil {
		if err := a.writeDraft(drafted, false); err != nil {
			return err
		}
	}
	b, err := books.Create(context.Background(), a.home)
	if err != nil {
		return err
	}
	if err := b.Close(); err != nil {
		return err
	}
	a.sayNext(in)
	return nil
}

// writeStart writes shop.yaml, config.yaml where there is none, and the sheet.
func (a *app) writeStart(shop []byte, sheet *draft.Intake) error {
	name := "blank.yaml"
	if sheet == nil {
		sheet = setup.BlankIntake()
	} else {
		name = sheet.Code + ".yaml"
	}
	for _, dir := range []string{books.ProgrammesDir, intakeDir} {
		if err := os.MkdirAll(filepath.Join(a.home, dir), 0o700); err != nil {
			return err
		}
	}
	files := []struct {
		path string
		text []byte
	}{
		{filepath.Join(a.home, config.FileName), []byte(config.Example())},
		{filepath.Join(a.home, intakeDir, name), setup.WriteIntake(sheet)},
		{filepath.Join(a.home, books.ShopFile), shop},
	}
	for _, f := range files {
		if _, err := os.Stat(f.path); err == nil {
			fmt.Fprintf(a.out, "kept     %s\n", f.path)
			continue
		}
		if err := wholefile.Write(f.path, f.text); err != nil {
			return err
		}
		fmt.Fprintf(a.out, "written  %s\n", f.path)
	}
	return nil
}

func (a *app) sayNext(in *interview) {
	fmt.Fprintln(a.out, "\nNext:")
	fmt.Fprintln(a.out, "  1. Put your own suppliers, garments, prices and closed days into shop.yaml; 'kitmuster check' reads it over.")
	if in.client.name == "" {
		fmt.Fprintf(a.out, "  2. Fill in %s for a client, then 'kitmuster programme draft' it.\n",
			filepath.Join(intakeDir, "blank.yaml"))
		return
	}
	fmt.Fprintf(a.out,
		"  2. Read the draft and put your selling prices in; 'kitmuster programme apply %s' takes it over.\n",
		filepath.Join(books.ProgrammesDir, setup.CodeOf(in.client.name)+".yaml"))
	fmt.Fprintf(a.out, "  3. 'kitmuster roster import %s staff.csv' takes in the client's list of staff.\n",
		setup.CodeOf(in.client.name))
	fmt.Fprintln(a.out, "\nWhere some wear a ladies' cut and others a men's, add the other cut before the list of staff: 'kitmuster help changes' shows how.")
}
