package main

import (
	"context"
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/config"
	"github.com/kitmuster/kitmuster/daemon/forget"
	"github.com/kitmuster/kitmuster/daemon/record"
	"github.com/kitmuster/kitmuster/programme"
)

func newRosterForgetCommand(a *app) *cobra.Command {
	var yes bool
	c := &cobra.Command{
		Use:   "forget CLIENT [PERSON]",
		Short: "Remove the names of people who left long ago, or of one who left",
		Long: `Removes name and site of people who left longer ago than the programme keeps names
(forget_after_days), and what names them: the texts of mails and their files, the papers
for the press of proposals with pieces for them, and the files in done/ and refused/ of
the drop folder. What was handed over for the client longer ago than that goes too. Their
pieces stay in the ledger under the staff number, so the forecast loses nothing.

With a PERSON, named by staff number or name, it does so for that one alone, however
short a time ago they left: for somebody who asks to be forgotten.

The service does the same by itself every night. Backups keep what they hold until they
are thinned out; the command says when that is. It does not touch files elsewhere, nor
what your mail program keeps. Without --yes it only says whom it would forget. It
cannot be undone.`,
		Example:           "  kitmuster roster forget bakery --yes\n  kitmuster leave bakery \"Ada Brackenholt\"\n  kitmuster roster forget bakery \"Ada Brackenholt\" --yes",
		ValidArgsFunction: a.completeClient,
		RunE: a.onBooks(func(ctx context.Context, b *books.Books, args []string) error {
			if len(args) > 1 {
				return a.forgetPerson(ctx, b, args[0], args[1], yes)
			}
			return a.forget(ctx, b, args[0], yes)
		}),
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
		return fmt.Errorf("the programme of %s does not say how long names are kept; set forget_after_days in it",
			client.Name)
	}
	leavers, err := b.Store.Leavers(ctx, code, leftBy, "")
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
		fmt.Fprintf(a.out, "%s left by %s; their names are removed with --yes.\n",
			programme.NumberOf(n, "person"), until)
		return nil
	}
	_, cfg, err := a.settings()
	if err != nil {
		return err
	}
	done, err := forget.Names(ctx, b, cfg, []*programme.Client{client}, a.today())
	return a.forgotten(b, cfg, fmt.Sprintf("names of %s who left by %s", programme.NumberOf(done.People, "person"),
		until), done, err)
}

// forgetPerson removes the name of one person, whose last day must be over.
func (a *app) forgetPerson(ctx context.Context, b *books.Books, code, word string, yes bool) error {
	client, err := b.Client(ctx, code)
	if err != nil {
		return err
	}
	people, err := b.Store.People(ctx, code)
	if err != nil {
		return err
	}
	p, err := record.FindPerson(people, word)
	if err != nil {
		return err
	}
	who := strings.TrimSpace(p.Name + " (" + p.StaffID + ")")
	switch {
	case p.Name == "":
		return fmt.Errorf("the name of %s is forgotten already", p.StaffID)
	case p.End.IsZero() || p.End > a.today():
		return fmt.Errorf("%s is still on the list of staff; enter the last day first: 'kitmuster leave %s %s'", who,
			code, p.StaffID)
	case !yes:
		fmt.Fprintf(a.out, "%s left on %s; name and site are removed with --yes.\n", who, b.Shop.DateStyle.Date(p.End))
		return nil
	}
	_, cfg, err := a.settings()
	if err != nil {
		return err
	}
	done, err := forget.Person(ctx, b, cfg, client, p.StaffID, a.today())
	return a.forgotten(b, cfg, "name of the person with the number "+p.StaffID, done, err)
}

// forgotten says what was removed, and until when backups hold it.
func (a *app) forgotten(b *books.Books, cfg *config.Config, what string, done forget.Report, err error) error {
	fmt.Fprintf(a.out, "Removed the %s, the texts of %s and %s.\n", what, programme.NumberOf(done.Mails, "mail"),
		programme.NumberOf(done.Files, "file"))
	if err != nil || !done.Any() {
		return err
	}
	held, err := forget.InBackups(b, cfg, a.now())
	fmt.Fprintln(a.out, held.Sentence(b.Shop.DateStyle))
	return err
}
