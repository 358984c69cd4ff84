package main

import (
	"context"
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/forecast"
	"github.com/kitmuster/kitmuster/notify/page"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/choose"
	"github.com/kitmuster/kitmuster/programme/wear"
)

// chooseFlags say which lines of a programme to ask about and against what.
type chooseFlags struct {
	role, garment, asOf string
	with, kinds         []string
	wearers             int
	json                bool
}

func newChooseCommand(a *app) *cobra.Command {
	var f chooseFlags
	c := &cobra.Command{
		Use:   "choose CLIENT",
		Short: "Compare garments and kinds of transfer by what a wearer costs a month",
		Long: `Puts the garments of your catalogue that could do the same job side by side, each
with every kind of transfer that takes on it: what a decorated piece costs, how
long it lasts under this client's work and washing, how many a wearer needs a year
and what that comes to a month. It says plainly whether the premium garment is the
dearer one here, and under which washing that would turn.

It uses what the records of this client and of your others have taught, and the
starting figures where they are silent. It changes nothing: to change the kit, edit
the programme and run 'kitmuster programme apply'.`,
		Example: "  kitmuster choose bakery\n" +
			"  kitmuster choose bakery --garment tee --with polo,cool-polo --kind film",
		RunE: a.onBooks(func(ctx context.Context, b *books.Books, args []string) error {
			return a.choose(ctx, b, args[0], &f)
		}),
	}
	c.Flags().StringVar(&f.role, "role", "", "only the kit of this role")
	c.Flags().StringVar(&f.garment, "garment", "", "only this garment of the kits")
	c.Flags().StringSliceVar(&f.with, "with", nil, "garments to compare it with (default: all that do the same job)")
	c.Flags().StringSliceVar(&f.kinds, "kind", nil, "transfer kinds to compare (default: all)")
	c.Flags().IntVar(&f.wearers, "wearers", 0, "how many people wear it (default: those in the roster)")
	dayFlag(c, &f.asOf, "as-of", "use records up to this day")
	jsonFlag(c, &f.json)
	return c
}

func (a *app) choose(ctx context.Context, b *books.Books, code string, f *chooseFlags) error {
	client, err := b.Client(ctx, code)
	if err != nil {
		return err
	}
	if err := f.check(b.Shop, client); err != nil {
		return err
	}
	base, people, err := a.known(ctx, b, client, f)
	if err != nil {
		return err
	}
	var answers []*choose.Answer
	for _, q := range f.questions(*base, people) {
		answer, err := choose.Compare(q)
		if err != nil {
			return err
		}
		answers = append(answers, answer)
	}
	if f.json {
		return writeJSON(a.out, struct {
			Format  int              `json:"format"`
			Client  string           `json:"client"`
			Answers []*choose.Answer `json:"answers"`
		}{1, code, answers})
	}
	for i, answer := range answers {
		if i > 0 {
			fmt.Fprintln(a.out)
		}
		printAnswer(a.out, b.Shop, client, answer)
	}
	return nil
}

// known returns the question common to all garments, with what the records have taught, and the number of wearers
// by role.
func (a *app) known(ctx context.Context, b *books.Books, client *programme.Client,
	f *chooseFlags) (*choose.Question, map[string]int, error) {
	day, err := a.day(f.asOf)
	if err != nil {
		return nil, nil, err
	}
	fc, err := forecast.New(ctx, b, day)
	if err != nil {
		return nil, nil, err
	}
	if err := a.saySilence(ctx, b, client.Code, day); err != nil {
		return nil, nil, err
	}
	rec, err := b.Records(ctx, client.Code, day)
	if err != nil {
		return nil, nil, err
	}
	book, err := wear.NewBook(b.Shop, client, fc.Experience)
	if err != nil {
		return nil, nil, err
	}
	wearers := map[string]int{}
	for _, p := range programme.Roster(rec.People).On(day) {
		wearers[p.Role]++
	}
	return &choose.Question{
		Shop: b.Shop, Client: client, AsOf: day, Garments: f.with, Kinds: f.kinds, Experience: fc.Experience,
		Learnt: book.Learn(book.Trace(rec.People, rec.Movements, day), day),
	}, wearers, nil
}

// usualWearers is the number of wearers that is assumed where the roster is empty.
const usualWearers = 10

// questions returns one question a garment: for the first role whose kit has it, with the wearers of all roles.
func (f *chooseFlags) questions(base choose.Question, people map[string]int) []choose.Question {
	var out []choose.Question
	seen := map[string]int{}
	for _, role := range base.Client.Roles {
		for _, line := range role.Kit {
			if f.role != "" && role.Code != f.role || f.garment != "" && line.Garment != f.garment {
				continue
			}
			i, again := seen[line.Garment]
			if !again {
				q := base
				q.Role, q.Line = role.Code, line
				i = len(out)
				seen[line.Garment] = i
				out = append(out, q)
			}
			out[i].Wearers += people[role.Code]
		}
	}
	for i := range out {
		switch {
		case f.wearers > 0:
			out[i].Wearers = f.wearers
		case out[i].Wearers == 0:
			out[i].Wearers = usualWearers
		}
	}
	return out
}

func printAnswer(w io.Writer, shop *programme.Shop, client *programme.Client, a *choose.Answer) {
	fmt.Fprintf(w, "%s: %s in %s, role %s, for %d wearers\n\n", client.Name, shop.GarmentName(a.Garment), a.Colour,
		a.Role, a.Wearers)
	t := page.Table{Columns: page.Columns("", "Garment", "Print", "#To buy", "Lasts (8 in 10)", "#A year", "#A month",
		"Ended by cloth, print, mishap, label")}
	for i := range a.Options {
		o := &a.Options[i]
		mark := ""
		if o.Present {
			mark = "now"
		}
		e := o.EndedBy
		t.Row(mark, o.Name, orNone(o.Kind), o.Price.In(shop.Currency),
			fmt.Sprintf("%.0f to %.0f months", o.Months.P10, o.Months.P90),
			fmt.Sprintf("%.1f", o.PiecesAYear), o.CostAMonth.In(shop.Currency),
			fmt.Sprintf("%.0f, %.0f, %.0f, %.0f %%", 100*e.Cloth, 100*e.Print, 100*e.Mishap, 100*e.Label))
	}
	show(w, t)
	fmt.Fprintln(w)
	for _, s := range a.Verdict {
		fmt.Fprintln(w, s)
	}
	printNotes(w, a)
}

// printNotes says what the figures rest on and what to mind.
func printNotes(w io.Writer, a *choose.Answer) {
	fmt.Fprintln(w)
	said := map[string]bool{}
	for i := range a.Options {
		for _, n := range a.Options[i].Notes {
			if line := a.Options[i].Name + ": " + n; !said[line] {
				said[line] = true
				fmt.Fprintln(w, "Note: "+line)
			}
		}
	}
	prices := "Prices are what the client pays; a garment without a price of its own carries the present one's markup."
	if !a.Priced {
		prices = "The programme states no price for the present garment, so prices are your own cost."
	}
	fmt.Fprintln(w, prices)
	own := "; this client's records hold no endings of such pieces yet"
	if a.Endings > 0 {
		own = fmt.Sprintf(", and %d endings of such pieces in this client's records,\nwhich are carried in part to garments it has not worn", a.Endings)
	}
	fmt.Fprintf(w, "Lives rest on the starting figures and on what other clients taught so far%s.\n", own)
}

func orNone(s string) string {
	if s == "" {
		return "none"
	}
	return s
}
