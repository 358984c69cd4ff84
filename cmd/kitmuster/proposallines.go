package main

import (
	"context"
	"fmt"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"github.com/kitmuster/kitmuster/daemon/answer"
	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/reorder"
	"github.com/kitmuster/kitmuster/programme/table"
)

// nextWords puts the number of the proposal in the place of %d.
func nextWords(words string, number int64) string {
	return strings.ReplaceAll(words, "%d", strconv.FormatInt(number, 10))
}

func readLines(shop *programme.Shop, p *reorder.Proposal, words []string) ([]reorder.LineChange, error) {
	var out []reorder.LineChange
	for _, w := range words {
		c, err := answer.ReadLine(shop, p, w)
		if err != nil {
			return nil, usageError{err}
		}
		out = append(out, c)
	}
	return out, nil
}

func readUntil(f *answerFlags, said *answer.Answer) (err error) {
	said.Until, err = dayOr(f.until, 0)
	return err
}

// fillChanges reads other numbers of pieces from words, --change, --only, --plan, --budget and --list into said.
func fillChanges(a *app, b *books.Books, p *reorder.Proposal, f *answerFlags, words []string,
	said *answer.Answer) error {
	var err error
	if said.Changes, err = readLines(b.Shop, p, append(words, f.changes...)); err != nil {
		return err
	}
	if err := f.keepOnly(b.Shop, p, said); err != nil {
		return err
	}
	plan, err := f.planned(p)
	if err != nil {
		return err
	}
	if plan != nil && len(said.Changes) > 0 {
		return usagef("say a plan or lines, not both")
	}
	said.Changes = append(said.Changes, plan...)
	if f.list != "" {
		if said.List, err = a.readOrderList(b, p, f); err != nil {
			return fmt.Errorf("nothing was recorded: %w", err)
		}
	}
	if said.Event == reorder.Change && len(said.Changes)+len(said.List) == 0 {
		return usagef("say what changes, as LINE=PIECES or with --only, --list, --plan or --budget")
	}
	return nil
}

// keepOnly sets every line that --only does not name to no pieces, except lines that are changed by name.
func (f *answerFlags) keepOnly(shop *programme.Shop, p *reorder.Proposal, said *answer.Answer) error {
	if len(f.only) == 0 {
		return nil
	}
	if f.list != "" {
		return usagef("say --only or --list, not both")
	}
	others, err := answer.Only(shop, p, f.only)
	if err != nil {
		return usageError{err}
	}
	for _, c := range others {
		if !slices.ContainsFunc(said.Changes, func(x reorder.LineChange) bool { return x.SKU == c.SKU }) {
			said.Changes = append(said.Changes, c)
		}
	}
	return nil
}

// planned returns the changes that --plan or --budget make to the proposal; nil without either.
func (f *answerFlags) planned(p *reorder.Proposal) ([]reorder.LineChange, error) {
	var c reorder.Choice
	switch {
	case f.plan == "" && f.budget == "":
		return nil, nil
	case f.plan != "" && f.budget != "":
		return nil, usagef("say --plan or --budget, not both")
	case f.budget != "":
		most, err := readBudget(f.budget)
		if err != nil {
			return nil, err
		}
		if c = p.Within(most); c.Pieces == 0 {
			return nil, usagef("--budget %s buys nothing of proposal %d", f.budget, p.Number)
		}
	default:
		found := false
		if c, found = p.Plan(reorder.ChoiceKind(f.plan)); !found {
			return nil, usagef("--plan %q: proposal %d has no such plan; 'kitmuster proposal curve %d' shows them: must, suggested, longer",
				f.plan, p.Number, p.Number)
		}
	}
	return c.Changes(p), nil
}

// readBudget reads an amount of money above 0.
func readBudget(text string) (programme.Money, error) {
	most, err := programme.ParseMoney(text)
	if err != nil || most <= 0 {
		return 0, usagef("--budget %q is no amount; write it such as 400.00", text)
	}
	return most, nil
}

// readOrderList reads the list that came back, with the headings of the client's
// programme and those said on the command line.
func (a *app) readOrderList(b *books.Books, p *reorder.Proposal, f *answerFlags) ([]reorder.Listed, error) {
	stated, err := readMaps(f.maps)
	if err != nil {
		return nil, err
	}
	client, err := b.Client(context.Background(), p.Client)
	if err != nil {
		return nil, err
	}
	data, err := a.readFile(f.list)
	if err != nil {
		return nil, err
	}
	return answer.ReadList(context.Background(), b, client, p.Number, filepath.Base(f.list), data,
		table.Options{Stated: stated, Sheet: f.sheet})
}

// fillDeliveries reads what came of each line, and what did not, into said.
func fillDeliveries(_ *app, b *books.Books, p *reorder.Proposal, f *answerFlags, words []string,
	said *answer.Answer) error {
	by := map[programme.SKU]*reorder.Delivery{}
	var order []programme.SKU
	at := func(k programme.SKU) *reorder.Delivery {
		if by[k] == nil {
			by[k] = &reorder.Delivery{SKU: k}
			order = append(order, k)
		}
		return by[k]
	}
	for _, part := range []struct {
		words []string
		into  func(*reorder.Delivery) *int
	}{
		{words, func(d *reorder.Delivery) *int { return &d.Came }},
		{f.wrong, func(d *reorder.Delivery) *int { return &d.Wrong }},
		{f.spoilt, func(d *reorder.Delivery) *int { return &d.Spoilt }},
		{f.givenUp, func(d *reorder.Delivery) *int { return &d.GivenUp }},
	} {
		lines, err := readLines(b.Shop, p, part.words)
		if err != nil {
			return err
		}
		for _, l := range lines {
			*part.into(at(l.SKU)) += l.Pieces
		}
	}
	for _, w := range f.back {
		line, on, err := cutDay(w)
		if err != nil {
			return err
		}
		c, err := answer.ReadLine(b.Shop, p, line)
		if err != nil {
			return usageError{err}
		}
		d := at(c.SKU)
		if d.Back > 0 && d.BackOn != on {
			return usagef("--back names two days for %s; enter the later one by itself afterwards", c.SKU)
		}
		d.Back, d.BackOn = d.Back+c.Pieces, on
	}
	for _, k := range order {
		said.Deliveries = append(said.Deliveries, *by[k])
	}
	return nil
}

// cutDay cuts the day off a line of --back, LINE=PIECES@DAY.
func cutDay(word string) (line string, on programme.Date, err error) {
	line, day, ok := strings.Cut(word, "@")
	on, err = programme.ParseDate(day)
	if !ok || err != nil {
		return "", 0, usagef("--back is %q; write it as LINE=PIECES@DAY, such as polo/navy/L=2@2026-04-13", word)
	}
	return line, on, nil
}

// completeAnswer offers the proposals that the answer can be given to, then
// the lines of the one named.
func (a *app) completeAnswer(v verb) func(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective) {
	return func(cmd *cobra.Command, args []string, _ string) ([]string, cobra.ShellCompDirective) {
		if len(args) > 0 && v.words == "" {
			return nil, cobra.ShellCompDirectiveNoFileComp
		}
		return a.offer(cmd, func(ctx context.Context, b *books.Books) ([]string, error) {
			if len(args) > 0 {
				return a.lineWords(ctx, b, args[0])
			}
			return proposalWords(ctx, b, func(p *reorder.Proposal) bool {
				_, refused := reorder.Next(p.State, v.event)
				return refused == nil
			})
		})
	}
}

func (a *app) lineWords(ctx context.Context, b *books.Books, word string) ([]string, error) {
	number, err := readNumber(word)
	if err != nil {
		return nil, err
	}
	p, err := b.Store.Proposal(ctx, number)
	var words []string
	for i := range p.Lines {
		l := &p.Lines[i]
		words = append(words, fmt.Sprintf("%s=%d\t%s", l.SKU, l.Outstanding(), answer.Name(b.Shop, l.SKU)))
	}
	return words, err
}
