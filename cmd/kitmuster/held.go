package main

import (
	"cmp"
	"context"
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/record"
	"github.com/kitmuster/kitmuster/daemon/round"
	"github.com/kitmuster/kitmuster/notify/page"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

// heldCaution stands in every help about protective clothing.
const heldCaution = `Look at the garments and their labels, ask the maker in writing before anything is
pressed on them, and follow local codes and the client's own safety rules.`

func newHeldCommand(a *app) *cobra.Command {
	var asOf string
	var asJSON bool
	c := &cobra.Command{
		Use:   "held [CLIENT]",
		Short: "Protective clothing that waits for a person's yes",
		Long: `Shows the protective clothing that is probably due and that the program never orders
by itself: pieces, for whom, what the label allows. 'held yes' and 'held no' answer.
What was answered is not asked again until noticeably more is needed.

` + heldCaution,
		Example: "  kitmuster held\n  kitmuster held yes wrenmoor",
		RunE: a.onBooksAsOf(&asOf, func(ctx context.Context, b *books.Books, day programme.Date, args []string) error {
			list, err := round.Held(ctx, b, day, args...)
			if err != nil {
				return err
			}
			if asJSON {
				return writeJSON(a.out, heldJSON(day, list))
			}
			a.printHeld(b.Shop, list)
			return nil
		}),
	}
	dayFlag(c, &asOf, "as-of", "day to look at")
	jsonFlag(c, &asJSON)
	c.AddCommand(newHeldAnswer(a, true), newHeldAnswer(a, false))
	return c
}

type heldDocument struct {
	Format  int          `json:"format"`
	AsOf    string       `json:"as_of"`
	Clients []heldClient `json:"clients"`
}

type heldClient struct {
	Client string         `json:"client"`
	Held   []reorder.Hold `json:"held"`
	Said   []heldSaid     `json:"answered"`
}

type heldSaid struct {
	programme.SKU
	Answer string         `json:"answer"`
	Pieces int            `json:"pieces"`
	On     programme.Date `json:"on"`
}

func heldJSON(day programme.Date, list []round.HeldOf) heldDocument {
	d := heldDocument{Format: 1, AsOf: day.String(), Clients: []heldClient{}}
	for _, h := range list {
		c := heldClient{Client: h.Client.Code, Held: append([]reorder.Hold{}, h.Holds...), Said: []heldSaid{}}
		for _, s := range h.Said {
			c.Said = append(c.Said, heldSaid{s.SKU, programme.YesNo(s.Yes), s.Pieces, s.On})
		}
		d.Clients = append(d.Clients, c)
	}
	return d
}

func (a *app) printHeld(shop *programme.Shop, list []round.HeldOf) {
	t := page.Table{Columns: page.Columns("Client", "#Pieces", "Garment", "Colour", "Size", "For", "#Label allows",
		"Label used up")}
	for _, h := range list {
		for i := range h.Holds {
			x := &h.Holds[i]
			label := "look"
			if x.LabelWashes > 0 {
				label = fmt.Sprintf("%.0f washes", x.LabelWashes)
			}
			t.Row(h.Client.Code, x.Pieces, shop.GarmentName(x.Garment), x.Colour, x.Size,
				cmp.Or(wearersWords(h.Staff, x.Wearers()), "nobody yet"), label, wearersWords(h.Staff, x.LabelSpent()))
		}
	}
	if len(t.Rows) == 0 {
		fmt.Fprintln(a.out, "Nothing waits for a person's yes.")
	} else {
		show(a.out, t)
		fmt.Fprintln(a.out, "\nLabel used up: who wears pieces that have had, by our reckoning, all the washes that the label allows.")
		fmt.Fprintln(a.out, "\nProtective clothing is never ordered by the program. "+strings.ReplaceAll(heldCaution,
			"\n", " "))
		fmt.Fprintln(a.out, "Then: kitmuster held yes CLIENT, or kitmuster held no CLIENT.")
	}
	for _, h := range list {
		for _, s := range h.Said {
			fmt.Fprintf(a.out, "%s said %s to %d × %s on %s.\n", h.Client.Name, programme.YesNo(s.Yes), s.Pieces, s.SKU,
				shop.DateStyle.Date(s.On))
		}
	}
}

// wearersWords names the first few people.
func wearersWords(staff programme.Roster, wearers []string) string {
	var words []string
	for i, id := range wearers {
		if i == 3 {
			return strings.Join(words, ", ") + fmt.Sprintf(" and %d more", len(wearers)-3)
		}
		words = append(words, staff.Called(id))
	}
	return strings.Join(words, ", ")
}

func newHeldAnswer(a *app, yes bool) *cobra.Command {
	var f moveFlags
	c := &cobra.Command{
		Use:   "no CLIENT [GARMENT ...]",
		Short: "Record a no to protective clothing",
		Long: `Records that the protective clothing that waits is not to be ordered: all of it, or the
garments named, as GARMENT/COLOUR/SIZE or the beginning of it. It is not asked again
until noticeably more is needed. 'kitmuster undo CLIENT' takes the answer back.`,
		Example: "  kitmuster held no wrenmoor vest/yellow/S\n  kitmuster held no wrenmoor",
	}
	if yes {
		c.Use, c.Short = "yes CLIENT [GARMENT[=PIECES] ...]",
			"Record a person's yes to protective clothing, and order it"
		c.Long = `Records that a person who may decide says yes to the protective clothing that waits:
to all of it, or to the garments named, as GARMENT/COLOUR/SIZE or the beginning of it,
with =PIECES for another number. It becomes an accepted order with a number of its
own: 'kitmuster orders' buys it with the others. 'kitmuster undo CLIENT' takes the
answer back.

` + heldCaution
		c.Example = "  kitmuster held yes wrenmoor vest/yellow/M=3 --dry-run\n  kitmuster held yes wrenmoor"
	}
	c.ValidArgsFunction = a.completeHeld
	c.RunE = func(cmd *cobra.Command, args []string) error {
		lines, err := readEach(args[1:], heldLine)
		if err != nil {
			return err
		}
		return a.carry(cmd, &f, func(ctx context.Context, b *books.Books, o record.Options) (record.Outcome, error) {
			list, err := round.Held(ctx, b, o.On, o.Client)
			if err != nil {
				return record.Outcome{}, err
			}
			h := record.HeldAnswer{Options: o, Yes: yes, Lines: lines}
			for _, x := range list {
				h.Holds = append(h.Holds, x.Holds...)
			}
			return record.AnswerHeld(ctx, b, h)
		})
	}
	f.register(c, "day of the answer")
	return c
}

// heldLine reads GARMENT/COLOUR/SIZE with or without =PIECES.
func heldLine(word string) (record.Handed, error) {
	if strings.Contains(word, "=") {
		return handed(word)
	}
	h := record.Handed{Pieces: -1}
	h.Garment, h.Colour, h.Size = programme.SplitSKU(word)
	return h, nil
}

// completeHeld offers clients, then the lines that wait.
func (a *app) completeHeld(cmd *cobra.Command, args []string, start string) ([]string, cobra.ShellCompDirective) {
	if len(args) == 0 {
		return a.completeClient(cmd, args, start)
	}
	return a.offer(cmd, func(ctx context.Context, b *books.Books) ([]string, error) {
		list, err := round.Held(ctx, b, a.today(), args[0])
		var out []string
		for _, h := range list {
			for i := range h.Holds {
				out = append(out, fmt.Sprintf("%s\t%d pieces", h.Holds[i].SKU, h.Holds[i].Pieces))
			}
		}
		return out, err
	})
}
