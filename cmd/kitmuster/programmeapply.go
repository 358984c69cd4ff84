package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/kitchange"
	"github.com/kitmuster/kitmuster/programme/setup"
)

func newProgrammeApplyCommand(a *app) *cobra.Command {
	var dry, yes bool
	c := &cobra.Command{
		Use:   "apply [FILE...]",
		Short: "Take over programme files, showing first what changes",
		Long: `Reads programme files (all of programmes/ when none is named), says what each would
change, and takes them over: all of them, or none when one has a mistake. On a
terminal it asks first; in a script it goes ahead, unless a change of the kits alone
makes more owed to people who are there: pieces and money are stated, and only --yes
(or a yes on the terminal) takes that over. The guide to changes (kitmuster help
changes) says how a kit changes without it. Applying a file twice changes
nothing. It issues and orders nothing; import the staff next ('kitmuster roster
import'). In a new shop it makes the database; where there are backups of one that
is gone, it makes none and names the newest.`,
		Example: "  kitmuster programme apply programmes/bakery.yaml --dry-run",
		RunE: func(cmd *cobra.Command, args []string) error {
			return a.opened(cmd.Context(), books.Create, func(ctx context.Context, b *books.Books) error {
				all, err := a.changes(ctx, b, args)
				if err != nil {
					return err
				}
				return a.apply(ctx, b, all, dry, yes)
			})
		},
	}
	c.Flags().BoolVar(&dry, "dry-run", false, "only say what would change")
	c.Flags().BoolVar(&yes, "yes", false, "do not ask, and take over a kit that makes more owed")
	return c
}

// change is a programme file compared with the programme that is applied.
type change struct {
	client *programme.Client
	text   []byte
	says   []string
	// same: the file is what is applied, to the byte.
	same bool
	// notes are what the owner should know of it besides.
	notes []string
	edit  kitEdit
}

// changes reads the files; the mistakes of all of them are one error.
func (a *app) changes(ctx context.Context, b *books.Books, files []string) ([]change, error) {
	if len(files) == 0 {
		var err error
		if files, err = filepath.Glob(filepath.Join(b.Home, books.ProgrammesDir, "*.yaml")); err != nil ||
			len(files) == 0 {
			return nil, errors.Join(err,
				fmt.Errorf("there is no programme in %s; write one with 'kitmuster programme draft'",
					filepath.Join(b.Home, books.ProgrammesDir)))
		}
	}
	var all []change
	var wrong []error
	seen := map[string]string{}
	for _, file := range files {
		ch, err := a.changeOf(ctx, b, file)
		if err != nil {
			wrong = append(wrong, err)
			continue
		}
		if first := seen[ch.client.Code]; first != "" {
			wrong = append(wrong, fmt.Errorf("%s and %s are both the programme of %s; keep one", first, file,
				ch.client.Code))
		}
		seen[ch.client.Code] = file
		all = append(all, *ch)
	}
	if len(wrong) > 0 {
		return nil, fmt.Errorf("%w\nNothing was changed", errors.Join(wrong...))
	}
	return all, nil
}

func (a *app) changeOf(ctx context.Context, b *books.Books, file string) (*change, error) {
	text, err := os.ReadFile(file)
	if err != nil {
		return nil, fmt.Errorf("read a programme: %w", err)
	}
	client, err := setup.ReadClient(file, text, b.Shop)
	if err != nil {
		return nil, err
	}
	if name := strings.TrimSuffix(filepath.Base(file), filepath.Ext(file)); name != client.Code {
		return nil, fmt.Errorf("%s: its code is %s; a programme's file is named after its code: %s.yaml", file,
			client.Code, client.Code)
	}
	ch := &change{client: client, text: text}
	row, err := b.Store.Client(ctx, client.Code)
	if errors.Is(err, store.ErrNoClient) {
		ch.says = setup.Diff(nil, client)
		return ch, nil
	}
	if err != nil {
		return nil, err
	}
	ch.same = bytes.Equal(row.Programme, text)
	old, err := setup.ReadClient(file, row.Programme, b.Shop)
	if err != nil {
		ch.says = append([]string{"what was applied before no longer reads under shop.yaml and is replaced"},
			setup.Diff(nil, client)...)
		return ch, nil
	}
	ch.says = setup.Diff(old, client)
	if ch.edit, err = a.editOf(ctx, b, old, client); err != nil {
		return nil, err
	}
	orphaned, err := orphans(ctx, b, client)
	if orphaned != "" {
		ch.notes = append(ch.notes, orphaned)
	}
	if note := laundryChanged(&old.Laundering, &client.Laundering, a.today()); note != "" {
		ch.notes = append(ch.notes, note)
	}
	return ch, err
}

// laundryChanged says how to state since when pieces are washed in another way; empty where they are not, or
// where that is stated.
func laundryChanged(old, next *programme.Laundering, today programme.Date) string {
	was := programme.FormerLaundering{Regime: old.Regime, Chlorine: old.Chlorine, Softener: old.Softener}
	is := programme.FormerLaundering{Regime: next.Regime, Chlorine: next.Chlorine, Softener: next.Softener}
	if was == is || len(next.Before) > len(old.Before) {
		return ""
	}
	was.Until = today.Add(-1)
	return "what was worn so far counts as washed in the new way, too. Where it was not, write under laundering until which day it was washed as before: " +
		setup.FormerLaundering(was)
}

// orphans returns a sentence about people whose role the programme does not have; empty where there are none.
func orphans(ctx context.Context, b *books.Books, client *programme.Client) (string, error) {
	people, err := b.Store.People(ctx, client.Code)
	if err != nil {
		return "", err
	}
	without := map[string]int{}
	for i := range people {
		if _, ok := client.Role(people[i].Role); !ok && people[i].End.IsZero() {
			without[people[i].Role]++
		}
	}
	var parts []string
	for role, n := range without {
		parts = append(parts, fmt.Sprintf("%s (%d)", role, n))
	}
	if len(parts) == 0 {
		return "", nil
	}
	slices.Sort(parts)
	return "staff in roles that this programme does not have, who will be issued nothing: " + strings.Join(parts, ", "),
		nil
}

func (a *app) apply(ctx context.Context, b *books.Books, all []change, dry, yes bool) error {
	var raised []kitchange.Raise
	for i := range all {
		a.show(b.Shop, &all[i])
		if !all[i].same {
			raised = append(raised, all[i].edit.raised...)
		}
	}
	all = slices.DeleteFunc(all, func(ch change) bool { return ch.same })
	owed := kitchange.Sum(raised)
	switch {
	case len(all) == 0:
		return nil
	case dry:
		fmt.Fprintln(a.out, "Nothing was changed (--dry-run).")
		return nil
	case !yes && owed.Pieces > 0 && !a.onTerminal():
		return fmt.Errorf("the change of the kits alone makes %s more owed, %s. Nothing was changed; apply it with --yes if that is meant",
			programme.NumberOf(owed.Pieces, "piece"), owed.Money(b.Shop))
	case !yes && !a.agreed("Take this over?"):
		fmt.Fprintln(a.out, "Nothing was changed.")
		return nil
	}
	err := b.Store.InTx(ctx, func(tx *store.Tx) error {
		for i := range all {
			if err := tx.PutClient(all[i].client.Code, all[i].text); err != nil {
				return err
			}
		}
		return nil
	})
	if err == nil {
		fmt.Fprintf(a.out, "Applied: %s.\n", programme.Listing(all, func(ch change) string { return ch.client.Code }))
	}
	return err
}

// show says what a file changes.
func (a *app) show(shop *programme.Shop, ch *change) {
	switch {
	case ch.same:
		fmt.Fprintf(a.out, "%s: no change\n", ch.client.Code)
	case len(ch.says) == 0:
		fmt.Fprintf(a.out, "%s: no change but in wording\n", ch.client.Code)
	default:
		fmt.Fprintf(a.out, "%s:\n", ch.client.Code)
		for _, s := range ch.says {
			fmt.Fprintf(a.out, "  %s\n", s)
		}
	}
	for _, s := range ch.edit.says(shop, a.today()) {
		if !ch.same {
			fmt.Fprintf(a.out, "  mind: %s\n", s)
		}
	}
	for _, s := range ch.notes {
		fmt.Fprintf(a.out, "  mind: %s\n", s)
	}
}
