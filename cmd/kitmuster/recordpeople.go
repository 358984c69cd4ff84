package main

import (
	"context"
	"fmt"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/delivery"
	"github.com/kitmuster/kitmuster/daemon/record"
	"github.com/kitmuster/kitmuster/programme"
)

func newHireCommand(a *app) *cobra.Command {
	var role, site, start, number string
	var sizes []string
	c := &cobra.Command{
		Use:   "hire CLIENT NAME",
		Short: "Enter a person who starts",
		Long: `Enters a person who starts, with role and sizes; the kit of the role is then counted
as needed. Nothing is issued by it: that is 'kitmuster issue'. Many people at once
are easier from a list: 'kitmuster roster import'. 'kitmuster undo CLIENT' takes the
entry back.`,
		Example: "  kitmuster hire bakery \"Kezia Larkfield\" --role baker --start 2026-04-01 --size top=M --size bottom=30/32",
		RunE: func(cmd *cobra.Command, args []string) error {
			s := record.Starter{Client: args[0], Name: args[1], Role: role, Site: site,
				StaffID: strings.TrimSpace(number)}
			var err error
			if s.Start, err = a.day(start); err != nil {
				return err
			}
			if s.Sizes, err = sizeFlags(sizes); err != nil {
				return err
			}
			return a.enter(cmd,
				func(ctx context.Context, b *books.Books) (record.Done, error) { return record.Hire(ctx, b, s) })
		},
	}
	dayFlag(c, &start, "start", "first day")
	c.Flags().StringVar(&number, "number", "", "staff number (default: made of initials and start)")
	a.personFlags(c, &role, &site, &sizes)
	return c
}

func newLeaveCommand(a *app) *cobra.Command {
	var on string
	var stays bool
	c := &cobra.Command{
		Use:   "leave CLIENT PERSON",
		Short: "Enter a person's last day",
		Long: `Enters a person's last day, past or to come. Pieces still held then are taken to have
left with the person; those that came back and can be worn again are entered with
'kitmuster back'. Where they stay after all, --stays takes the last day back, whatever
was entered since, and what they hold counts again.`,
		Example: "  kitmuster leave bakery 0001 --on 2026-03-31\n  kitmuster leave bakery 0001 --stays",
		RunE: func(cmd *cobra.Command, args []string) error {
			change := record.Alteration{Client: args[0], Person: args[1], Stays: stays}
			if stays && on != "" {
				return usagef("--stays takes the last day back, so it goes without --on")
			}
			if !stays {
				var err error
				if change.LastDay, err = a.day(on); err != nil {
					return err
				}
			}
			return a.enter(cmd, func(ctx context.Context, b *books.Books) (record.Done, error) {
				return record.Alter(ctx, b, change)
			})
		},
	}
	dayFlag(c, &on, "on", "last day")
	c.Flags().BoolVar(&stays, "stays", false, "they do not leave after all")
	return c
}

func newChangeCommand(a *app) *cobra.Command {
	var role, site, printName string
	var sizes []string
	var fits bool
	c := &cobra.Command{
		Use:   "change CLIENT PERSON",
		Short: "Enter another role, site, size or name on garments of a person",
		Long: `Enters what changes about a person; what is not named stays. Pieces held keep the
size that they have: those of the size before count until they are exchanged, and
as many of the new size are owed. With --held-fits they still fit, and only what
replaces them is of the new size. 'kitmuster exchange' does the change and hands
over what lies on the shelf. --print-name is the name that garments carry where the
programme has names on them, - for none. 'kitmuster undo CLIENT' takes the entry back.`,
		Example: "  kitmuster change bakery 0001 --role supervisor --size top=XL",
		RunE: func(cmd *cobra.Command, args []string) error {
			byFamily, err := sizeFlags(sizes)
			if err != nil {
				return err
			}
			if role == "" && site == "" && printName == "" && len(byFamily) == 0 {
				return usagef("say what changes with --role, --site, --size or --print-name")
			}
			if fits && len(byFamily) == 0 {
				return usagef("--held-fits goes with --size")
			}
			return a.enter(cmd, func(ctx context.Context, b *books.Books) (record.Done, error) {
				return record.Alter(ctx, b, record.Alteration{Client: args[0], Person: args[1], Role: role, Site: site,
					PrintName: printName, Sizes: byFamily, HeldFits: fits})
			})
		},
	}
	c.Flags().BoolVar(&fits, "held-fits", false,
		"what the person holds still fits; only what comes next is of the new size")
	c.Flags().StringVar(&printName, "print-name", "",
		"name on garments, where it is not taken from the person's name; - for none")
	a.personFlags(c, &role, &site, &sizes)
	return c
}

func (a *app) personFlags(c *cobra.Command, role, site *string, sizes *[]string) {
	c.Flags().StringVar(role, "role", "", "role in the programme")
	c.Flags().StringVar(site, "site", "", "place of work")
	c.Flags().StringArrayVar(sizes, "size", nil, "size of a kind of garment, such as top=M; may be repeated")
	_ = c.RegisterFlagCompletionFunc("role", a.completeRole)
}

func sizeFlags(flags []string) (map[string]string, error) {
	sizes := map[string]string{}
	for _, f := range flags {
		family, size, ok := strings.Cut(f, "=")
		if !ok || strings.TrimSpace(family) == "" || strings.TrimSpace(size) == "" {
			return nil, usagef("--size is %q; write it as kind=size, such as top=M", f)
		}
		sizes[strings.TrimSpace(strings.TrimPrefix(family, "size_"))] = strings.TrimSpace(size)
	}
	return sizes, nil
}

func newReceiveCommand(a *app) *cobra.Command {
	var on, client string
	var washes int
	c := &cobra.Command{
		Use:   "receive KIND CODE PIECES",
		Short: "Enter goods that have come in: blanks, transfers, finished pieces",
		Long: `Puts goods that have come in on the shelf: KIND is blank, transfer or finished, CODE
a garment with colour and size (polo/navy/L) or the artwork of transfers. What was
stated as on order becomes less by as much. Goods of a proposal come in with
'kitmuster proposal received' and need no entry. 'kitmuster undo' takes the entry
back ('kitmuster undo CLIENT' for finished pieces).`,
		Example:           "  kitmuster receive blank polo/navy/L 24\n  kitmuster receive finished polo/navy/L 6 --client bakery",
		ValidArgsFunction: a.completeReceive,
		RunE: func(cmd *cobra.Command, args []string) error {
			kind := programme.StockKind(args[0])
			if kind != programme.Blank && kind != programme.Transfer && kind != programme.Finished {
				return usagef("KIND is %q; give blank, transfer or finished", args[0])
			}
			n, err := strconv.Atoi(args[2])
			if err != nil || n < 1 || n > 1000000 {
				return usagef("PIECES is %q; give a whole number above 0", args[2])
			}
			if washes < 0 || washes > 2000 {
				return usagef("--washes is %d; give 0 to 2000", washes)
			}
			arrival := record.Arrival{Goods: programme.Goods{Kind: kind, Client: client}, Pieces: n, Washes: washes}
			if arrival.On, err = a.past(on); err != nil {
				return err
			}
			if arrival.Code = args[1]; kind != programme.Transfer {
				arrival.Code, arrival.Colour, arrival.Size = programme.SplitSKU(args[1])
			}
			return a.enter(cmd, func(ctx context.Context, b *books.Books) (record.Done, error) {
				return record.Receive(ctx, b, arrival)
			})
		},
	}
	dayFlag(c, &on, "on", "day on which they came")
	c.Flags().StringVar(&client, "client", "", "client whose finished pieces they are")
	c.Flags().IntVar(&washes, "washes", 0, "washes that finished pieces have behind them, when they were worn before")
	_ = c.RegisterFlagCompletionFunc("client",
		func(cmd *cobra.Command, _ []string, start string) ([]string, cobra.ShellCompDirective) {
			return a.completeClient(cmd, nil, start)
		})
	return c
}

func newUndoCommand(a *app) *cobra.Command {
	var file, try bool
	c := &cobra.Command{
		Use:   "undo [CLIENT]",
		Short: "Take back the last entry made by hand",
		Long: `Takes back the last entry for a client that was made by hand (issue, end, count, hire,
leave, change, starter, exchange, away, back, held, receive finished, proposal), or
without a client the last orders sent, or goods that came in. Repeat it to go further
back; 'kitmuster log CLIENT' shows the entries. With --file the last ledger file of the
client is taken back, all its rows, as long as nothing was entered, taken in or
proposed after it. What was taken back has to be entered again: --dry-run shows it first.`,
		Example: "  kitmuster undo bakery\n  kitmuster undo bakery --file",
		RunE: func(cmd *cobra.Command, args []string) error {
			client, takeBack := strings.Join(args, ""), record.Undo
			if file {
				if client == "" {
					return usagef("'%s --file' needs the client whose file is taken back", cmd.CommandPath())
				}
				takeBack = record.UndoFile
			}
			return a.withBooks(cmd.Context(), func(ctx context.Context, b *books.Books) error {
				done, err := takeBack(ctx, b, client, try)
				if err != nil {
					return err
				}
				printDone(a.out, done)
				if try {
					fmt.Fprintln(a.out, "This was a trial: nothing was taken back.")
					return nil
				}
				return delivery.WriteFiles(ctx, b, a.now)
			})
		},
	}
	c.Flags().BoolVar(&file, "file", false, "take back the last ledger file instead of the last entry by hand")
	c.Flags().BoolVar(&try, "dry-run", false, "show what would be taken back and change nothing")
	return c
}
