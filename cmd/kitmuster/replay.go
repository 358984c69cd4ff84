package main

import (
	"context"
	"errors"
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/notify/chart"
	"github.com/kitmuster/kitmuster/notify/page"
	"github.com/kitmuster/kitmuster/notify/wholefile"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/replay"
)

// replayFlags holds the flags of the command.
type replayFlags struct {
	from, until    string
	every, weeks   int
	calendarMonths int
	picture        string
	asJSON         bool
}

func newReplayCommand(a *app) *cobra.Command {
	var f replayFlags
	c := &cobra.Command{
		Use:   "replay [CLIENT]",
		Short: "Compare what the forecast would have said on past dates with what came",
		Long: `Goes back to past dates, forecasts from what was known on each of them and nothing
later, and compares with what the ledger says came. Beside the forecast stand three
rules of thumb on the same records: replacing by the calendar, last year's rate, and
the mean of the last twelve weeks. Without CLIENT all clients are taken together.

Where pieces are counted, only days up to the last count can be judged: what was
missing after it is not known yet. Holdings that are only assumed from past orders
are no records: days before the first entry or count are left out. Nothing is changed.`,
		Example: "  kitmuster replay hotel --from 2025-03-01 --every 4 --weeks 8 --picture replay.png",
		RunE: a.onBooks(func(ctx context.Context, b *books.Books, args []string) error {
			if f.every < 1 || f.weeks < 1 || f.weeks > 104 {
				return usagef("--every must be at least 1 week and --weeks 1 to 104")
			}
			return a.replay(ctx, b, args, f)
		}),
	}
	c.Flags().StringVar(&f.from, "from", "",
		"first date to go back to, year-month-day (default: a year before the records end)")
	c.Flags().StringVar(&f.until, "until", "",
		"last date of which the outcome is known (default: the newest row of the ledgers)")
	c.Flags().IntVar(&f.every, "every", 4, "weeks from one date to the next")
	c.Flags().IntVar(&f.weeks, "weeks", 8, "how many weeks each forecast looks ahead")
	c.Flags().IntVar(&f.calendarMonths, "calendar-months", 0,
		"age at which the calendar rule replaces a piece (default: the best in hindsight)")
	c.Flags().StringVar(&f.picture, "picture", "",
		"write a picture of forecasts and outcomes to this PNG file (one CLIENT)")
	jsonFlag(c, &f.asJSON)
	return c
}

func (a *app) replay(ctx context.Context, b *books.Books, args []string, f replayFlags) error {
	if f.picture != "" && len(args) == 0 {
		return usagef("--picture shows one client; name it")
	}
	clients, records, newest, err := everything(ctx, b, a.today())
	if err != nil {
		return err
	}
	plan := replay.Plan{Every: f.every, Weeks: f.weeks, CalendarMonths: f.calendarMonths, Until: newest}
	if err := f.setDays(&plan); err != nil {
		return err
	}
	house := replay.NewHouse(b.Shop, clients, records)
	var results []replay.Result
	for i, c := range clients {
		if len(args) == 1 && args[0] != c.Code {
			continue
		}
		r, err := replay.Run(b.Shop, c, records[i], plan, house.Forecaster(c))
		if err != nil {
			return err
		}
		results = append(results, r)
	}
	if len(args) == 1 && len(results) == 0 {
		_, err := b.Client(ctx, args[0])
		return err
	}
	return a.showReplay(results, f)
}

// everything reads all clients' records and finds their newest day.
func everything(ctx context.Context, b *books.Books,
	today programme.Date) ([]*programme.Client, []replay.Records, programme.Date, error) {
	clients, err := b.Clients(ctx)
	if err != nil {
		return nil, nil, 0, err
	}
	newest := programme.Date(0)
	records := make([]replay.Records, len(clients))
	for i, c := range clients {
		r, err := b.Records(ctx, c.Code, today)
		if err != nil {
			return nil, nil, 0, err
		}
		records[i] = replay.InOrder(r.People, r.Movements)
		for j := range r.Movements {
			newest = max(newest, r.Movements[j].Date)
		}
	}
	return clients, records, newest, nil
}

func (f *replayFlags) setDays(plan *replay.Plan) (err error) {
	if plan.Until, err = dayOr(f.until, plan.Until); err != nil {
		return err
	}
	plan.From, err = dayOr(f.from, plan.Until.Add(-7*52))
	return err
}

func (a *app) showReplay(results []replay.Result, f replayFlags) error {
	res := results[0]
	if len(results) > 1 {
		res = replay.Join(results)
	}
	if f.picture != "" {
		if err := writeReplayPicture(&res, f.picture); err != nil {
			return err
		}
	}
	if f.asJSON {
		return writeJSON(a.out, res)
	}
	return printReplay(a.out, &res, len(results))
}

func printReplay(w io.Writer, res *replay.Result, clients int) error {
	if len(res.Rows) == 0 || res.Rows[0].Total.Cells == 0 {
		_, err := fmt.Fprintln(w, "The records do not reach far enough back: no past date has a known outcome over so many weeks; holdings that are only assumed from past orders are no records. Try fewer --weeks or an earlier --from.")
		return err
	}
	who := res.Client
	if clients > 1 {
		who = fmt.Sprintf("%d clients", clients)
	}
	total := res.Rows[0].Total
	fmt.Fprintf(w, "%s: %d past forecasts of the next %d weeks; %.0f pieces expected, %.0f came.\n\n", who, total.Cells,
		res.Weeks, total.Expected, total.Came)
	t := page.Table{Columns: page.Columns("Way", "#Off by, in all", "#Loss, all pieces", "#Loss, by size",
		"#50 %: said/came", "#80 %", "#95 %")}
	for _, r := range res.Rows {
		row := []any{name(r.Name, res.CalendarMonths), fmt.Sprintf("%+.0f %%", 100*r.Total.Bias),
			fmt.Sprintf("%.2f", r.Total.Pinball), fmt.Sprintf("%.3f", r.Lines.Pinball)}
		for _, i := range r.Lines.Intervals {
			row = append(row, fmt.Sprintf("%.0f / %.0f", 100*i.Claimed, 100*i.Came))
		}
		t.Row(row...)
	}
	show(w, t)
	_, err := fmt.Fprint(w, `
Loss is how many pieces a way's numbers were off, each weighed by how surely it was said
(mean pinball loss): less is better. 80 %: how often it said that what comes would lie
between two numbers, and how often it did. Pieces are whole, so it says a little more than
80; a rule of thumb, which is one number, is given the spread of pure chance (Poisson).
`)
	return err
}

func name(row string, calendarMonths int) string {
	if row == replay.Calendar && calendarMonths > 0 {
		return fmt.Sprintf("calendar, every %d months", calendarMonths)
	}
	return row
}

func writeReplayPicture(res *replay.Result, path string) error {
	if len(res.Moments) < 2 {
		return errors.New("a picture needs at least two past dates; try a smaller --every or an earlier --from")
	}
	png, err := chart.Replay(pictureOf(res))
	if err != nil {
		return fmt.Errorf("draw the replay: %w", err)
	}
	return wholefile.Write(path, png)
}

// pictureOf turns moments into what the picture shows.
func pictureOf(res *replay.Result) chart.Past {
	p := chart.Past{RuleName: "mean of the last 12 weeks"}
	for _, m := range res.Moments {
		p.Days = append(p.Days, m.AsOf)
		p.Mean, p.Low, p.High = append(p.Mean, m.Expected), append(p.Low, float64(m.Low)),
			append(p.High, float64(m.High))
		p.Came, p.Rule = append(p.Came, float64(m.Came)), append(p.Rule, m.Rules[replay.TwelveWeeks])
	}
	return p
}
