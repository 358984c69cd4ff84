package main

import (
	"context"
	"fmt"
	"io"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/record"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/clean"
	"github.com/kitmuster/kitmuster/programme/match"
)

// recordCommands are the entries made by hand, day by day.
func recordCommands(a *app) []*cobra.Command {
	return []*cobra.Command{newIssueCommand(a), newEndCommand(a), newCountCommand(a), newHireCommand(a),
		newLeaveCommand(a), newChangeCommand(a),
		newReceiveCommand(a), newUndoCommand(a), newLogCommand(a)}
}

// oldKeptUsage is the same question wherever pieces are handed over.
const oldKeptUsage = "the old pieces stay in use (otherwise they count as thrown out)"

// garmentWords begins a paragraph of a command's help; what answers when colour
// and size are left out follows it.
const garmentWords = `

GARMENT is a code or name, with colour and size behind slashes: polo/navy/L. Colour and
size may be left out where there is only one answer: `

func newIssueCommand(a *app) *cobra.Command {
	var on string
	var pieces int
	var washes float64
	var otherwise, kept bool
	c := &cobra.Command{
		Use:   "issue CLIENT PERSON GARMENT",
		Short: "Enter pieces handed to a person",
		Long: `Enters pieces handed to a person, who is named by staff number or name.` + garmentWords + `the
colour of the person's kit, the size in the roster.

The pieces are taken off the client's finished stock, as far as there is any.
Pieces beyond the kit stand for as many that ended, unless --old-kept says otherwise.
Pieces of a proposal are issued by 'kitmuster proposal received' and need no entry.
'kitmuster undo CLIENT' takes the entry back.`,
		Example:           "  kitmuster issue bakery 0001 polo=2\n  kitmuster issue bakery \"Ada Brackenholt\" polo/navy/L --on 2026-03-02 --washes 12",
		ValidArgsFunction: a.completeMove,
		RunE: func(cmd *cobra.Command, args []string) error {
			m := record.Move{Client: args[0], Person: args[1], Kind: programme.Issued, Pieces: pieces, Washes: washes,
				FromShelf: !otherwise, OldKept: kept}
			if washes < 0 || washes > 2000 {
				return usagef("--washes is %g; give 0 to 2000", washes)
			}
			return a.move(cmd, m, args[2], on)
		},
	}
	a.moveFlags(c, &on, &pieces)
	c.Flags().Float64Var(&washes, "washes", 0, "washes the pieces have behind them, when they were worn before")
	c.Flags().BoolVar(&otherwise, "not-from-shelf", false, "leave the finished stock as it is")
	c.Flags().BoolVar(&kept, "old-kept", false, oldKeptUsage)
	return c
}

func newEndCommand(a *app) *cobra.Command {
	var on, reason string
	var pieces int
	c := &cobra.Command{
		Use:   "end CLIENT PERSON GARMENT",
		Short: "Enter pieces that a person no longer wears, and why",
		Long: `Enters pieces that came to their end. The oldest pieces end first. Every reason teaches
the forecast; leave --reason out only when nobody knows.` + garmentWords + `what the person holds.

` + reasonLines() + `
Clothing that protects its wearer is judged by its label and the rules of the trade
first. 'kitmuster undo CLIENT' takes the entry back.`,
		Example:           "  kitmuster end bakery 0001 polo --reason worn\n  kitmuster end bakery 0001 polo/navy/M --pieces 2 --reason print",
		ValidArgsFunction: a.completeMove,
		RunE: func(cmd *cobra.Command, args []string) error {
			choices := match.NewChoices(reasonCodes...)
			code, ok := choices.Find(reason)
			if reason != "" && !ok {
				return usagef("--reason is %q, %s", reason, choices.Want("reason", reason))
			}
			m := record.Move{Client: args[0], Person: args[1], Kind: programme.Ended, Pieces: pieces,
				Reason: programme.Reason(code)}
			return a.move(cmd, m, args[2], on)
		},
	}
	a.moveFlags(c, &on, &pieces)
	c.Flags().StringVar(&reason, "reason", "", "why: "+strings.Join(reasonCodes, ", "))
	_ = c.RegisterFlagCompletionFunc("reason", cobra.FixedCompletions(reasonCodes, cobra.ShellCompDirectiveNoFileComp))
	return c
}

var reasonCodes = programme.WrittenReasons()

// reasonLines says when to write each reason, a line each.
func reasonLines() string {
	var b strings.Builder
	for _, code := range reasonCodes {
		fmt.Fprintf(&b, "  %-9s %s\n", code, programme.Reason(code).Told())
	}
	return b.String()
}

func newCountCommand(a *app) *cobra.Command {
	var on string
	c := &cobra.Command{
		Use:   "count CLIENT PERSON GARMENT PIECES",
		Short: "Enter how many presentable pieces a person holds",
		Long: `Enters a count: how many pieces of a garment a person holds on a day that are still
presentable; 0 is a count too. What is missing since the last entry is taken to have
ended in between.` + garmentWords + `what the person holds.
'kitmuster undo CLIENT' takes the entry back.`,
		Example:           "  kitmuster count bakery 0001 polo 2",
		ValidArgsFunction: a.completeMove,
		RunE: func(cmd *cobra.Command, args []string) error {
			n, err := strconv.Atoi(args[3])
			if err != nil || n < 0 || n > 1000 {
				return usagef("PIECES is %q; give a whole number from 0 to 1000", args[3])
			}
			return a.move(cmd, record.Move{Client: args[0], Person: args[1], Kind: programme.Counted, Pieces: n},
				args[2], on)
		},
	}
	dayFlag(c, &on, "on", "day of the count")
	return c
}

func (a *app) moveFlags(c *cobra.Command, on *string, pieces *int) {
	dayFlag(c, on, "on", "day on which it happened")
	c.Flags().IntVar(pieces, "pieces", 1, "how many pieces, as GARMENT=PIECES says too")
}

// move enters a movement of the garment as typed.
func (a *app) move(cmd *cobra.Command, m record.Move, garment, on string) error {
	var err error
	if m.Garment, m.Colour, m.Size = programme.SplitSKU(garment); m.Kind != programme.Counted {
		if strings.Contains(garment, "=") { // as lines of proposals and orders are written
			if cmd.Flags().Changed("pieces") {
				return usagef("the number of pieces is given twice, in %q and as --pieces %d; give one",
					garment, m.Pieces)
			}
			h, err := handed(garment)
			if err != nil {
				return err
			}
			m.Garment, m.Colour, m.Size, m.Pieces = h.Garment, h.Colour, h.Size, h.Pieces
		}
		if m.Pieces < 1 || m.Pieces > 1000 {
			return usagef("the number of pieces is %d; give 1 to 1000", m.Pieces)
		}
	}
	if m.On, err = a.past(on); err != nil {
		return err
	}
	return a.enter(cmd,
		func(ctx context.Context, b *books.Books) (record.Done, error) { return record.Enter(ctx, b, m) })
}

// past reads the day on which something happened, which is not after today.
func (a *app) past(on string) (programme.Date, error) {
	d, err := a.day(on)
	if err != nil {
		return 0, err
	}
	if today := a.today(); d > today {
		return 0, usagef("--on is %s, which is still to come; give the day on which it happened", d)
	}
	return d, nil
}

// enter makes an entry and says what was entered.
func (a *app) enter(cmd *cobra.Command, f func(context.Context, *books.Books) (record.Done, error)) error {
	return a.withBooks(cmd.Context(), func(ctx context.Context, b *books.Books) error {
		done, err := f(ctx, b)
		if err != nil {
			return fmt.Errorf("nothing was entered: %w", err)
		}
		printDone(a.out, done)
		return nil
	})
}

func printDone(w io.Writer, done record.Done) {
	fmt.Fprintf(w, "%s.\n", clean.Sentence(done.Text))
	for _, n := range done.Notes {
		fmt.Fprintf(w, "Note: %s.\n", n.Command)
	}
}
