package main

import (
	"fmt"
	"os"
	"path/filepath"

	"github.com/spf13/cobra"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/notify/page"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/draft"
	"github.com/kitmuster/kitmuster/programme/setup"
)

func newProgrammeDraftCommand(a *app) *cobra.Command {
	var blank, replace, dry, asJSON bool
	c := &cobra.Command{
		Use:   "draft [INTAKE.yaml]",
		Short: "Draft a programme from the answers to an intake sheet",
		Long: `Turns an intake sheet (what the business does, one place or mobile, how dirty, how
washed, how many, who sees them) into a draft programme from the garments of your
catalogue: garments with reasons, roles and kits, what to print where, laundering
advice, expected life and cost a head by option, cautions. It writes
programmes/CODE.yaml and adds the artworks it names to shop.yaml; it applies and
orders nothing. Start with --blank, which prints a sheet to fill in; then read the
draft, change what you know better, and run 'kitmuster programme apply'.`,
		Example: "  kitmuster programme draft --blank > intake.yaml\n" +
			"  kitmuster programme draft intake.yaml",
		RunE: func(cmd *cobra.Command, args []string) error {
			if blank {
				_, err := unfolded(a.out).Write(setup.WriteIntake(setup.BlankIntake()))
				return err
			}
			if len(args) != 1 {
				return usagef("name the intake sheet, or print a blank one with 'kitmuster programme draft --blank'")
			}
			shop, in, d, err := a.draft(args[0])
			if err != nil {
				return err
			}
			if asJSON {
				return writeJSON(a.out, draftJSON(d))
			}
			a.printDraft(shop, in, d)
			if dry {
				fmt.Fprintln(a.out, "\nNothing was written (--dry-run).")
				return nil
			}
			if err := a.writeDraft(d, replace); err != nil {
				return err
			}
			fmt.Fprintf(a.out, "Next: read it, put your selling prices in, then 'kitmuster programme apply %s'.\n",
				filepath.Join(a.home, books.ProgrammesDir, in.Code+".yaml"))
			return nil
		},
	}
	c.Flags().BoolVar(&blank, "blank", false, "print a sheet to fill in")
	c.Flags().BoolVar(&replace, "replace", false, "write over a programme file that is there")
	c.Flags().BoolVar(&dry, "dry-run", false, "only show the draft")
	c.Flags().BoolVar(&asJSON, "json", false, "print the draft for other programs and write nothing")
	return c
}

func (a *app) draft(file string) (*programme.Shop, *draft.Intake, *draft.Draft, error) {
	shop, err := books.ReadShop(a.home)
	if err != nil {
		return nil, nil, nil, err
	}
	sheet, err := os.ReadFile(file)
	if err != nil {
		return nil, nil, nil, fmt.Errorf("read the intake sheet: %w", err)
	}
	in, err := setup.ReadIntake(file, sheet, shop)
	if err != nil {
		return nil, nil, nil, err
	}
	d, err := draft.Make(shop, in)
	if err != nil {
		return nil, nil, nil, fmt.Errorf("draft a programme for %s: %w", in.Code, err)
	}
	return shop, in, d, nil
}

// writeDraft writes the programme and its artworks, and says where they are.
func (a *app) writeDraft(d *draft.Draft, replace bool) error {
	path, _, err := books.WriteDraft(a.home, d, replace)
	if err != nil {
		return err
	}
	fmt.Fprintf(a.out, "\nThe draft is in %s; its %d artworks are in shop.yaml (set their true sizes there).\n", path,
		len(d.Artworks))
	return nil
}

func (a *app) printDraft(shop *programme.Shop, in *draft.Intake, d *draft.Draft) {
	fmt.Fprintf(a.out, "Draft programme for %s: %s, %d people\n\n", in.Name, in.Trade, in.Staff())
	t := page.Table{Columns: page.Columns("Role", "What", "Garment", "#Each", "#Wears a week", "Prints", "Why")}
	i := 0
	for _, role := range d.Client.Roles {
		for _, k := range role.Kit {
			p := d.Garments[i]
			t.Row(role.Name, p.What, p.Garment+", "+k.Colour, k.Each, fmt.Sprintf("%g", k.WearsAWeek),
				places(k.Decorations), p.Why)
			i++
		}
	}
	t.Columns[6].Most = 50
	show(a.out, t)
	a.printOptions(shop, d)
	a.printHeads(shop, d)
	a.points("What to print where", d.Printing)
	a.points("Washing, to tell the client", d.Washing)
	a.points("Cautions", d.Cautions)
	a.points("Missing in your catalogue", d.Missing)
}

func places(list []programme.Decoration) string {
	return orNone(programme.Listing(list, func(d programme.Decoration) string { return d.Place }))
}

// printOptions shows what each choice was weighed against.
func (a *app) printOptions(shop *programme.Shop, d *draft.Draft) {
	fmt.Fprint(a.out, "\nOptions weighed, at your cost; the first of each is in the draft\n\n")
	t := page.Table{Columns: page.Columns("What", "Garment", "Print", "#Decorated", "Lasts (8 in 10)",
		"#A head and year")}
	seen := map[string]bool{}
	for _, p := range d.Garments {
		if key := p.What + p.Garment; seen[key] {
			continue
		} else {
			seen[key] = true
		}
		for i := range p.Options {
			o := &p.Options[i]
			t.Row(p.What, o.Name, orNone(o.Kind), o.Cost.In(shop.Currency),
				fmt.Sprintf("%.0f to %.0f months", o.Months.P10, o.Months.P90),
				(o.ShopCostAMonth * 12).In(shop.Currency))
		}
	}
	show(a.out, t)
}

func (a *app) printHeads(shop *programme.Shop, d *draft.Draft) {
	fmt.Fprint(a.out, "\nWhat one person costs you\n\n")
	t := page.Table{Columns: page.Columns("Role", "#People", "#First outfit", "#A year after that",
		"#All people a year")}
	for _, h := range d.Heads {
		t.Row(h.Role, h.People, h.Outfit.In(shop.Currency), h.AYear.In(shop.Currency),
			(h.AYear * programme.Money(h.People)).In(shop.Currency))
	}
	show(a.out, t)
}

func (a *app) points(title string, says []string) {
	if len(says) == 0 {
		return
	}
	fmt.Fprintf(a.out, "\n%s\n", title)
	for _, s := range says {
		fmt.Fprintf(a.out, "  - %s\n", s)
	}
}
