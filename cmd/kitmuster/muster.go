package main

import (
	"cmp"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/forecast"
	"github.com/kitmuster/kitmuster/notify/page"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/demand"
)

func newMusterCommand(a *app) *cobra.Command {
	var asOf string
	var weeks int
	var asJSON bool
	c := &cobra.Command{
		Use:   "muster CLIENT",
		Short: "Show what a client's people hold and what will be needed",
		Long: `Shows the state of one client on a date and the pieces that will be needed in the
weeks after it: worn out, print gone, mishaps, new starters. It changes nothing
and orders nothing; 'kitmuster round' makes proposals from the same figures.`,
		Example: "  kitmuster muster bakery --weeks 12",
		RunE: a.onBooksAsOf(&asOf, func(ctx context.Context, b *books.Books, day programme.Date, args []string) error {
			if weeks < 1 || weeks > 520 {
				return usagef("--weeks is %d; give 1 to 520", weeks)
			}
			in, err := forecast.Inspect(ctx, b, args[0], day)
			if err != nil {
				return err
			}
			for _, d := range in.Doubts() {
				fmt.Fprintf(a.err, "Note: %s\n", d)
			}
			if err := a.saySilence(ctx, b, args[0], day); err != nil {
				return err
			}
			m := in.Muster(weeks)
			if asJSON {
				return writeJSON(a.out, &m)
			}
			printMuster(a.out, b.Shop, in.Client, in.Staff, &m)
			if len(m.Pieces) > 0 {
				fmt.Fprintf(a.out, "\nThis rests on %s.\n", in.Evidence().Words())
			}
			return nil
		}),
	}
	dayFlag(c, &asOf, "as-of", "date of the muster")
	c.Flags().IntVar(&weeks, "weeks", 12, "how many weeks to look ahead")
	c.Flags().BoolVar(&asJSON, "json", false, "print the whole forecast for other programs")
	return c
}

func writeJSON(w io.Writer, v any) error {
	enc := json.NewEncoder(unfolded(w))
	enc.SetIndent("", "  ")
	return enc.Encode(v)
}

// printMuster writes the muster for a person: expected needs by size, what is
// there, and the pieces that will go first.
func printMuster(w io.Writer, shop *programme.Shop, client *programme.Client, staff programme.Roster,
	m *demand.Muster) {
	end := m.AsOf.Add(7 * m.Weeks)
	fmt.Fprintf(w, "%s: what will be needed from %s to %s (%d weeks)\n\n", client.Name, shop.DateStyle.Date(m.AsOf),
		shop.DateStyle.Date(end), m.Weeks)
	if len(m.Lines) == 0 {
		fmt.Fprintln(w, "Nothing is issued yet and no one is expected to join: import a roster and a ledger first.")
		return
	}
	t := page.Table{Columns: page.Columns("Garment", "Colour", "Size", "#Expected", "#Likely at most", "#On hand",
		"#On order", "#Owed today")}
	for i := range m.Lines {
		l := &m.Lines[i]
		t.Row(shop.GarmentName(l.Garment), l.Colour, l.Size, fmt.Sprintf("%.1f", l.Mean), l.Quantiles["0.9"], l.OnHand,
			l.OnOrder, blankZero(l.Owed))
	}
	show(w, t)
	var sum programme.Causes
	for _, week := range m.Weekly {
		sum = sum.Plus(week)
	}
	var words []string
	var pieces []float64
	for c, n := range sum.Each() {
		if (c == programme.CauseKit || c == programme.CauseResize) && n == 0 {
			continue // most kits know of no seasons, and some of one size alone
		}
		words, pieces = append(words, c.Word()), append(pieces, n)
	}
	total := int(math.Round(m.Total.Mean))
	for i, n := range programme.Apportion(total, pieces) { // parts that add up to what is read before them
		words[i] = fmt.Sprintf("%d %s", n, words[i])
	}
	fmt.Fprintf(w, "\nIn all about %d pieces (9 times in 10 no more than %d): %s.\n", total,
		m.Total.Quantiles["0.9"], strings.Join(words, ", "))
	printFirstToGo(w, shop, staff, m)
}

// printFirstToGo lists the pieces most likely to end within the weeks asked for.
func printFirstToGo(w io.Writer, shop *programme.Shop, staff programme.Roster, m *demand.Muster) {
	const most = 12
	pieces := append([]demand.Outlook(nil), m.Pieces...)
	slices.SortStableFunc(pieces, func(a, b demand.Outlook) int { return cmp.Compare(b.PEnd, a.PEnd) })
	if len(pieces) == 0 {
		return
	}
	fmt.Fprintf(w, "\nFirst to go, of %d pieces in service:\n\n", len(pieces))
	t := page.Table{Columns: page.Columns("Whose", "Garment", "Size", "Issued", "#Washes", "#Chance to end",
		"Half such pieces end by")}
	for i := range pieces[:min(most, len(pieces))] {
		p := &pieces[i]
		t.Row(staff.Called(p.StaffID), shop.GarmentName(p.Garment), p.Size, issuedWords(shop, p),
			fmt.Sprintf("%.0f", p.Washes),
			fmt.Sprintf("%.0f %%", 100*p.PEnd), shop.DateStyle.Date(p.D50))
	}
	show(w, t)
}

// issuedWords returns the day of issue, marked where it is only assumed.
func issuedWords(shop *programme.Shop, o *demand.Outlook) string {
	if o.Assumed {
		return shop.DateStyle.Date(o.Issued) + " (assumed)"
	}
	return shop.DateStyle.Date(o.Issued)
}

func blankZero(n int) string {
	if n == 0 {
		return ""
	}
	return strconv.Itoa(n)
}
