package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/handover"
	"github.com/kitmuster/kitmuster/notify/wholefile"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/table"
)

// handoverFlags holds the flags that the import commands share.
type handoverFlags struct {
	maps         []string
	dates, sheet string
	asOf         string
	dryRun, good bool
	full, yes    bool
	orders       bool
	asJSON       bool
}

func (f *handoverFlags) register(c *cobra.Command) {
	fl := c.Flags()
	fl.StringArrayVar(&f.maps, "map", nil,
		`heading of the file and our name for it, "Hire date=start_date", or a word in a column and ours, "role:Line Cook=cook"; nothing behind = passes the column over, leaves out rows with that role, movement, garment or kind, and empties any other cell`)
	fl.StringVar(&f.dates, "dates", "", "order of dates in the file: day-first, month-first or year-first (default: the one all dates agree with; with dots, 10.03.2026, the day comes first)")
	fl.StringVar(&f.sheet, "sheet", "", "sheet of a workbook (default: the one with the headings)")
	fl.StringVar(&f.asOf, "as-of", "", "day of the hand-over, year-month-day (default: today)")
	fl.BoolVar(&f.dryRun, "dry-run", false, "show what would change and change nothing")
	fl.BoolVar(&f.good, "accept-good", false, "take the rows without an error and write the others to a file to mend")
	fl.BoolVar(&f.asJSON, "json", false, "print the outcome for other programs")
	_ = c.RegisterFlagCompletionFunc("dates", cobra.FixedCompletions([]string{"day-first", "month-first", "year-first"},
		cobra.ShellCompDirectiveNoFileComp))
}

func (f *handoverFlags) options(a *app) (handover.Options, error) {
	opt := handover.Options{Sheet: f.sheet, Full: f.full, Yes: f.yes, Orders: f.orders, DryRun: f.dryRun,
		AcceptGood: f.good, Headings: map[string]string{}}
	var err error
	if opt.AsOf, err = a.day(f.asOf); err != nil {
		return opt, err
	}
	if opt.Dates, err = table.ParseDateOrder(f.dates); err != nil {
		return opt, usageError{err}
	}
	opt.Headings, err = readMaps(f.maps)
	return opt, err
}

// readMaps reads what --map says of the headings and words of a file.
func readMaps(words []string) (map[string]string, error) {
	out := map[string]string{}
	for _, m := range words {
		theirs, ours, ok := strings.Cut(m, "=")
		if !ok || strings.TrimSpace(theirs) == "" {
			return nil, usagef(`--map is %q; write it as "heading of the file=our name" or "column:word of the file=our word"`, m)
		}
		out[strings.TrimSpace(theirs)] = strings.TrimSpace(ours)
	}
	return out, nil
}

// take reads a file, imports it with hand, writes the rows to mend, and prints the report.
func (f *handoverFlags) take(a *app, cmd *cobra.Command, path string,
	hand func(context.Context, *books.Books, string, []byte, handover.Options) (*handover.Report, error)) error {
	opt, err := f.options(a)
	if err != nil {
		return err
	}
	data, err := a.readFile(path)
	if err != nil {
		return err
	}
	return a.withBooks(cmd.Context(), func(ctx context.Context, b *books.Books) error {
		r, err := hand(ctx, b, filepath.Base(path), data, opt)
		if err != nil {
			return showRefusal(a, b, err)
		}
		mend, err := writeMend(path, r, opt)
		if err != nil {
			return err
		}
		if f.asJSON {
			return writeJSON(a.out, reportJSON(r, opt, mend))
		}
		printReport(a.out, b, r, opt, mend)
		return nil
	})
}

// takeOf is take for a file about one client.
func (f *handoverFlags) takeOf(a *app, cmd *cobra.Command, client, path string,
	hand func(context.Context, *books.Books, string, string, []byte, handover.Options) (*handover.Report, error),
) error {
	return f.take(a, cmd, path, func(ctx context.Context, b *books.Books, file string, data []byte,
		opt handover.Options,
	) (*handover.Report, error) {
		return hand(ctx, b, client, file, data, opt)
	})
}

// readFile reads a file, or what is piped in for "-".
func (a *app) readFile(path string) ([]byte, error) {
	if path == "-" {
		return io.ReadAll(io.LimitReader(a.in, table.MaxBytes+1))
	}
	st, err := os.Stat(path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil, fmt.Errorf("there is no file %s", path)
	case err != nil:
		return nil, fmt.Errorf("read %s: %w", path, err)
	case st.IsDir():
		return nil, fmt.Errorf("%s is a folder; name a file", path)
	case st.Size() > table.MaxBytes:
		return nil, fmt.Errorf("%s is larger than %d MB; split it", path, table.MaxBytes>>20)
	}
	data, err := os.ReadFile(path)
	if err != nil {
		return nil, fmt.Errorf("read %s: %w", path, err)
	}
	return data, nil
}

// showRefusal prints the difference that an import without --yes was refused for, and returns the error.
func showRefusal(a *app, b *books.Books, err error) error {
	if many, ok := errors.AsType[*handover.TooMany](err); ok {
		if many.Diff != nil {
			fmt.Fprint(a.err, many.Diff.Text(b.Shop.DateStyle))
		}
	}
	return err
}

// writeMend writes the rows to mend beside the file: staff.csv -> staff-to-mend.csv.
func writeMend(path string, r *handover.Report, opt handover.Options) (string, error) {
	if len(r.Bad) == 0 || opt.DryRun {
		return "", nil
	}
	if path == "-" {
		path = r.Kind + ".csv"
	}
	base := strings.TrimSuffix(path, filepath.Ext(path)) + "-to-mend"
	for n := 1; ; n++ {
		name := base + ".csv"
		if n > 1 {
			name = fmt.Sprintf("%s-%d.csv", base, n)
		}
		err := wholefile.New(name, r.Mend)
		if errors.Is(err, fs.ErrExist) {
			continue // an earlier file to mend may hold somebody's work
		}
		if err != nil {
			return "", fmt.Errorf("the rows without an error are taken; the others could not be written to a file to mend, so mend them in %s and import it again: %w", path, err)
		}
		return name, nil
	}
}

func printReport(w io.Writer, b *books.Books, r *handover.Report, opt handover.Options, mend string) {
	for _, n := range r.Notes {
		fmt.Fprintf(w, "Note: %s\n", n)
	}
	if r.Diff != nil {
		fmt.Fprint(w, r.Diff.Text(b.Shop.DateStyle))
	} else {
		fmt.Fprintf(w, "%d new, %d known already\n", r.New, r.Known)
	}
	for _, u := range r.Unplaced {
		fmt.Fprintf(w, "Not placed: %d of %d %s ordered on %s; nobody in the roster of that day wears that size and has it in the kit\n",
			u.Pieces, u.Order.Pieces, u.Order.SKU, b.Shop.DateStyle.Date(u.Order.Date))
	}
	if r.UsedUp > 0 {
		fmt.Fprintf(w,
			"Taken to be used up by now: %s; those who wear them have full kits of later orders, or have left\n",
			programme.NumberOf(r.UsedUp, "piece"))
	}
	if len(r.Bad) > 0 {
		fmt.Fprintf(w, "Not taken:\n%s\n", r.Bad.Error())
	}
	if mend != "" {
		fmt.Fprintf(w, "These rows are in %s: correct them there and import that file.\n", mend)
	}
	switch {
	case opt.DryRun && r.NeedsYes():
		fmt.Fprintln(w, "Dry run: nothing was changed. The import needs --yes: more than a quarter would leave, people known under other numbers would count twice, or somebody would hold more pieces than anybody wears.")
	case opt.DryRun:
		fmt.Fprintln(w, "Dry run: nothing was changed.")
	case r.Stored:
		fmt.Fprintf(w, "Imported %s.\n", r.File)
	default:
		fmt.Fprintf(w, "Nothing new in %s; nothing was changed.\n", r.File)
	}
}
