package main

import (
	"context"
	"fmt"

	"github.com/spf13/cobra"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/forget"
	"github.com/kitmuster/kitmuster/programme"
)

func newRosterForgetCommand(a *app) *cobra.Command {
	var yes bool
	c := &cobra.Command{
		Use:   "forget CLIENT",
		Short: "Remove the names of people who left long ago",
		Long: `Removes name and site of people who left longer ago than the programme keeps names
(forget_after_days), and what names them: the texts of mails and their files, the papers
for the press of proposals with pieces for them, and the files in done/ and refused/ of
the drop folder. What was handed over for the client longer ago than that goes too. Their
pieces stay in the ledger under the staff number, so the forecast loses nothing.

The service does the same by itself every night. Backups keep what they hold until they
are thinned out; the command says when that is. It does not touch files elsewhere, nor
what your mail program keeps. Without --yes it only says how many people there are. It
cannot be undone.`,
		Example:           "  kitmuster roster forget bakery --yes",
		Args:              exactly("CLIENT"),
		ValidArgsFunction: a.completeClient,
		RunE: func(cmd *cobra.Command, args []string) error {
			return a.withBooks(cmd.Context(), func(ctx context.Context, b *books.Books) error {
				return a.forget(ctx, b, args[0], yes)
			})
		},
	}
	c.Flags().BoolVar(&yes, "yes", false, "remove them")
	return c
}

func (a *app) forget(ctx context.Context, b *books.Books, code string, yes bool) error {
	client, err := b.Client(ctx, code)
	if err != nil {
		return err
	}
	leftBy, ok := forget.LeftBy(client, a.today())
	if !ok {
		return fmt.Errorf("the programme of %s does not say how long names are kept; set forget_after_days in it", client.Name)
	}
	leavers, err := b.Store.Leavers(ctx, code, leftBy)
	if err != nil {
		return err
	}
	n := 0
	for i := range leavers {
		if !leavers[i].Forgotten {
			n++
		}
	}
	until := b.Shop.DateStyle.Date(leftBy)
	if !yes {
		fmt.Fprintf(a.out, "%s left by %s; their names are removed with --yes.\n", programme.NumberOf(n, "person"), until)
		return nil
	}
	_, cfg, err := a.settings()
	if err != nil {
		return err
	}
	done, err := forget.Names(ctx, b, cfg, []*programme.Client{client}, a.today())
	fmt.Fprintf(a.out, "Removed the names of %s who left by %s, the texts of %s and %s.\n",
		programme.NumberOf(done.People, "person"), until, programme.NumberOf(done.Mails, "mail"), programme.NumberOf(done.Files, "file"))
	if err != nil || !done.Any() {
		return err
	}
	held, err := forget.InBackups(b, cfg, a.now())
	fmt.Fprintln(a.out, held.Sentence(b.Shop.DateStyle))
	return err
}
