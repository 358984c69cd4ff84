package main

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"
	"golang.org/x/term"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/notify/page"
	"github.com/kitmuster/kitmuster/programme"
)

// app holds what all commands share: the shop's folder, the streams, and the clock. What is shown to people or
// kept as a date is in the shop's time zone, as clock returns it.
type app struct {
	in   io.Reader
	out  io.Writer
	err  io.Writer
	home string
	now  func() time.Time
	zone *time.Location // of clock; nil until it is asked for
}

// Groups of the help page, in its order.
var groups = []*cobra.Group{
	{ID: "week", Title: "Every week:"},
	{ID: "records", Title: "What people hand over, and what happens day by day:"},
	{ID: "look", Title: "Looking closer:"},
	{ID: "setup", Title: "Setting up:"},
	{ID: "service", Title: "The service that does it by itself:"},
}

// commands lists every command of the program by its group of the help page.
func commands(a *app) []*cobra.Command {
	return slices.Concat(
		grouped("week", newDeskCommand(a), newRoundCommand(a), newProposalCommand(a), newHeldCommand(a),
			newOrdersCommand(a), newMailCommand(a), newSheetCommand(a), newDeliveredCommand(a)),
		grouped("records", newRosterCommand(a), newLedgerCommand(a), newStockCommand(a), newCountsCommand(a),
			newDaySheetCommand(a), newCatalogueCommand(a)),
		grouped("records", peopleCommands(a)...),
		grouped("records", recordCommands(a)...),
		grouped("look", newMusterCommand(a), newWearCommand(a), newReplayCommand(a), newChooseCommand(a)),
		grouped("setup", newDemoCommand(a), newInitCommand(a), newProgrammeCommand(a), newCheckCommand(a)),
		grouped("service", newRunCommand(a), newStatusCommand(a), newBackupCommand(a), newRestoreCommand(a),
			newServiceCommand(a)),
		[]*cobra.Command{newVersionCommand(a)},
		topics(),
	)
}

func grouped(id string, list ...*cobra.Command) []*cobra.Command {
	for _, c := range list {
		c.GroupID = id
	}
	return list
}

// withBooks opens the shop's folder, runs f, and closes it again.
func (a *app) withBooks(ctx context.Context, f func(context.Context, *books.Books) error) error {
	return a.opened(ctx, books.Open, f)
}

// onBooks is the work of a command that opens the shop's folder first.
func (a *app) onBooks(
	f func(ctx context.Context, b *books.Books, args []string) error,
) func(*cobra.Command, []string) error {
	return func(cmd *cobra.Command, args []string) error {
		return a.withBooks(cmd.Context(), func(ctx context.Context, b *books.Books) error { return f(ctx, b, args) })
	}
}

// onBooksAsOf is onBooks for a command with the flag --as-of, whose day it reads.
func (a *app) onBooksAsOf(asOf *string,
	f func(ctx context.Context, b *books.Books, day programme.Date, args []string) error,
) func(*cobra.Command, []string) error {
	return func(cmd *cobra.Command, args []string) error {
		day, err := a.day(*asOf)
		if err != nil {
			return err
		}
		return a.withBooks(cmd.Context(),
			func(ctx context.Context, b *books.Books) error { return f(ctx, b, day, args) })
	}
}

// opened is withBooks with another function that opens the folder.
func (a *app) opened(ctx context.Context, open func(context.Context, string) (*books.Books, error),
	f func(context.Context, *books.Books) error) (err error) {
	b, err := open(ctx, a.home)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, b.Close()) }()
	return f(ctx, b)
}

// clock returns the present moment in the shop's time zone, so that commands and the daemon mean the same day by
// "today", wherever the machine stands. Outside a shop's folder, or where shop.yaml cannot be read (which the
// command itself then says), it is in the machine's zone.
func (a *app) clock() time.Time {
	if a.zone == nil {
		a.zone = a.now().Location()
		if shop, err := books.ReadShop(a.home); err == nil {
			a.zone = books.ZoneOf(shop)
		}
	}
	return a.now().In(a.zone)
}

// today returns the date in the shop's time zone.
func (a *app) today() programme.Date { return programme.DateOf(a.clock()) }

// dayFlag adds a flag for a day, which a.day reads.
func dayFlag(c *cobra.Command, day *string, name, what string) {
	c.Flags().StringVar(day, name, "", what+", year-month-day (default: today)")
}

// jsonFlag adds the flag with which a command prints JSON.
func jsonFlag(c *cobra.Command, asJSON *bool) {
	c.Flags().BoolVar(asJSON, "json", false, "print for other programs")
}

// tryFlag adds the flag with which an entry is only tried.
func tryFlag(c *cobra.Command, try *bool) {
	c.Flags().BoolVar(try, "dry-run", false, "show what would come of it and keep nothing")
}

// day reads a flag for a day; empty means today in the shop's time zone.
func (a *app) day(flag string) (programme.Date, error) { return dayOr(flag, a.today()) }

// dayOr reads a flag for a day that means another one when it is empty.
func dayOr(flag string, otherwise programme.Date) (programme.Date, error) {
	if flag == "" {
		return otherwise, nil
	}
	d, err := programme.ParseDate(flag)
	if err != nil {
		return 0, usageError{err}
	}
	return d, nil
}

// readEach reads each word with read and returns the first error.
func readEach[T any](words []string, read func(string) (T, error)) ([]T, error) {
	var out []T
	for _, w := range words {
		x, err := read(w)
		if err != nil {
			return nil, err
		}
		out = append(out, x)
	}
	return out, nil
}

// show draws parts of a page on a terminal. A terminal that is gone is no error, as with fmt.Fprint.
func show(w io.Writer, blocks ...page.Block) { _ = draw(w, page.Page{Blocks: blocks}) }

// draw draws a page as wide as the terminal is; in a pipe or a file tables are as wide as they need.
func draw(w io.Writer, p page.Page) error {
	columns := 0
	if s, ok := w.(*screen); ok {
		columns = s.columns
	}
	return page.Terminal(unfolded(w), p, columns)
}

// completeClient offers the codes of the applied programmes to the shell.
func (a *app) completeClient(cmd *cobra.Command, args []string, _ string) ([]string, cobra.ShellCompDirective) {
	if len(args) > 0 {
		return nil, cobra.ShellCompDirectiveNoFileComp
	}
	return a.offer(cmd, func(ctx context.Context, b *books.Books) ([]string, error) { return orAll(ctx, b, nil) })
}

// orAll returns the codes of all applied programmes where none is named.
func orAll(ctx context.Context, b *books.Books, codes []string) ([]string, error) {
	if len(codes) > 0 {
		return codes, nil
	}
	rows, err := b.Store.Clients(ctx)
	for _, r := range rows {
		codes = append(codes, r.Code)
	}
	return codes, err
}

// agreed asks a yes-or-no question on a terminal; without a terminal the answer is yes.
func (a *app) agreed(question string) bool {
	if !a.onTerminal() {
		return true
	}
	fmt.Fprintf(a.out, "%s [y/N] ", question)
	line, _ := bufio.NewReader(a.in).ReadString('\n')
	answer := strings.ToLower(strings.TrimSpace(line))
	return answer == "y" || answer == "yes"
}

// onTerminal reports whether standard input is a terminal, at which a person can be asked.
func (a *app) onTerminal() bool {
	f, ok := a.in.(*os.File)
	return ok && term.IsTerminal(int(f.Fd()))
}
