package main

import (
	"cmp"
	"context"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/forecast"
	"github.com/kitmuster/kitmuster/notify/chart"
	"github.com/kitmuster/kitmuster/notify/wholefile"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/wear"
)

func newWearCommand(a *app) *cobra.Command {
	var asOf, pictures string
	var asJSON bool
	c := &cobra.Command{
		Use:   "wear [CLIENT]",
		Short: "Show how long pieces last, by starting figures and by your records",
		Long: `Shows for each kind of garment of a client (of all when none is named) how long pieces
last under its work and laundering: the starting figure, what the records say, in
washes and in months, and what ends pieces first: the cloth, the print, or a
mishap. With --pictures it draws the records against both curves. It changes
nothing; your own figures go under baselines in shop.yaml.`,
		Example: "  kitmuster wear bakery --pictures pictures",
		RunE: a.onBooksAsOf(&asOf, func(ctx context.Context, b *books.Books, day programme.Date, args []string) error {
			list, err := wearOf(ctx, b, day, args)
			if err != nil {
				return err
			}
			for i := range list {
				if err := a.saySilence(ctx, b, list[i].Client, day); err != nil {
					return err
				}
			}
			if pictures != "" {
				if err := drawWear(pictures, list); err != nil {
					return err
				}
			}
			if asJSON {
				return writeJSON(a.out, wearDocument{1, day, list})
			}
			printWear(a.out, b.Shop, list)
			return nil
		}),
	}
	dayFlag(c, &asOf, "as-of", "date")
	c.Flags().StringVar(&pictures, "pictures", "", "folder for a picture of each kind of garment (PNG)")
	c.Flags().BoolVar(&asJSON, "json", false, "print everything for other programs")
	return c
}

// wearDocument is the JSON shape of the command.
type wearDocument struct {
	Format  int            `json:"format"`
	AsOf    programme.Date `json:"as_of"`
	Clients []clientWear   `json:"clients"`
}

type clientWear struct {
	Client  string        `json:"client"`
	Name    string        `json:"name"`
	Classes []wear.Report `json:"classes"`
}

func wearOf(ctx context.Context, b *books.Books, day programme.Date, codes []string) ([]clientWear, error) {
	f, err := forecast.New(ctx, b, day)
	if err != nil {
		return nil, err
	}
	if codes, err = orAll(ctx, b, codes); err != nil {
		return nil, err
	}
	var out []clientWear
	for _, code := range codes {
		client, err := b.Client(ctx, code)
		if err != nil {
			return nil, err
		}
		in, err := f.Inspect(ctx, client)
		if err != nil {
			return nil, err
		}
		cw := clientWear{Client: client.Code, Name: client.Name}
		for _, t := range in.Book.Classes() {
			if pace := in.Book.UsualPace(t); pace > 0 {
				cw.Classes = append(cw.Classes, in.Learnt[t.Class].Report(pace))
			}
		}
		slices.SortStableFunc(cw.Classes,
			func(a, b wear.Report) int { return cmp.Compare(b.Evidence.Replaced(), a.Evidence.Replaced()) })
		out = append(out, cw)
	}
	return out, nil
}

func printWear(w io.Writer, shop *programme.Shop, list []clientWear) {
	for i := range list {
		fmt.Fprintf(w, "%s\n", list[i].Name)
		for j := range list[i].Classes {
			printClass(w, shop, &list[i].Classes[j])
		}
		if i < len(list)-1 {
			fmt.Fprintln(w)
		}
	}
}

// printClass tells one class in sentences an owner can repeat to a client.
func printClass(w io.Writer, shop *programme.Shop, r *wear.Report) {
	p := &r.Piece
	fmt.Fprintf(w, "\n  %s\n", r.Class.Name(shop))
	if r.Evidence.Replaced() == 0 {
		fmt.Fprintf(w, "    starting figure %.0f washes; %d pieces in service; %s\n", p.Baseline, r.Evidence.InService,
			r.Evidence.Words())
	} else {
		fmt.Fprintf(w, "    starting figure %.0f washes; your records say %.0f (8 times in 10 between %.0f and %.0f); %d pieces in service\n    the records: %s\n",
			p.Baseline, p.Washes.Median, p.Washes.Low, p.Washes.High, r.Evidence.InService, r.Evidence.Words())
	}
	fmt.Fprintf(w, "    half such pieces last %.1f months here (%.1f to %.1f), at %.1f washes a week\n",
		p.Months.Median, p.Months.Low, p.Months.High, r.Pace)
	for _, f := range r.Former {
		fmt.Fprintf(w, "    washed otherwise up to %s: one wash then counts as %.2f of one now\n",
			shop.DateStyle.Date(f.Until), f.Worth)
	}
	var parts []string
	for c, share := range r.First.Each() {
		parts = append(parts, fmt.Sprintf("%s %.0f %%", c.Word(), 100*share))
	}
	advice := ""
	if a := r.First.Most().Words().Advice; a != "" {
		advice = "; " + a
	}
	fmt.Fprintf(w, "    what ends them: %s%s\n", strings.Join(parts, ", "), advice)
}

// drawWear writes one picture a client and class.
func drawWear(dir string, list []clientWear) error {
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return fmt.Errorf("make the folder for pictures: %w", err)
	}
	for i := range list {
		for j := range list[i].Classes {
			r := &list[i].Classes[j]
			png, err := chart.Survival(chart.Lives{Steps: r.Picture.Steps, Baseline: along(r.Picture.Before),
				Learnt: along(r.Picture.After)})
			if err != nil {
				return fmt.Errorf("draw %s of %s: %w", r.Name, list[i].Client, err)
			}
			name := fmt.Sprintf("wear-%s-%d-%s.png", list[i].Client, j+1, r.Class.Cloth)
			if err := wholefile.Write(filepath.Join(dir, name), png); err != nil {
				return fmt.Errorf("write picture: %w", err)
			}
		}
	}
	return nil
}

// along returns the curve through the points, linear between them and constant beyond.
func along(points []wear.Point) func(float64) float64 {
	return func(x float64) float64 {
		i, _ := slices.BinarySearchFunc(points, x,
			func(p wear.Point, x float64) int { return cmp.Compare(p.Washes, x) })
		switch {
		case i == 0:
			return points[0].Survival
		case i == len(points):
			return points[i-1].Survival
		}
		a, b := points[i-1], points[i]
		return a.Survival + (x-a.Washes)/(b.Washes-a.Washes)*(b.Survival-a.Survival)
	}
}
