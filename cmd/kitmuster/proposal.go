package main

import (
	"context"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/notify/page"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

func newProposalCommand(a *app) *cobra.Command {
	c := &cobra.Command{
		Use:   "proposal",
		Short: "Show proposed reorders and record what came of them",
		Long: `A round suggests a reorder to each client that is due. These commands show the
proposals and record what people say about them: the client's yes, other numbers,
not now or no; that blanks and sheets are ordered; what arrived and what did not.
'kitmuster undo CLIENT' takes the last answer back.`,
		Example: "  kitmuster proposal list\n  kitmuster proposal show 12 --explain\n  kitmuster proposal accept 12 --change polo/navy/M=4",
		RunE:    func(c *cobra.Command, _ []string) error { return c.Help() },
	}
	c.AddCommand(newProposalList(a), newProposalShow(a), newProposalCurve(a))
	for _, v := range verbs {
		c.AddCommand(newProposalAnswer(a, v))
	}
	return c
}

func newProposalList(a *app) *cobra.Command {
	var states []string
	var asJSON bool
	c := &cobra.Command{
		Use:   "list [CLIENT]",
		Short: "List proposals, newest first",
		Long: `Lists the proposals of one client or of all, newest first: where each stands, the
last day for a yes, what it costs and what it brings.`,
		Example: "  kitmuster proposal list\n  kitmuster proposal list bakery --state sent,accepted",
		RunE: a.onBooks(func(ctx context.Context, b *books.Books, args []string) error {
			wanted, err := readStates(states)
			if err != nil {
				return err
			}
			return a.listProposals(ctx, b, strings.Join(args, ""), wanted, asJSON)
		}),
	}
	c.Flags().StringSliceVar(&states, "state", nil, "only those that are "+stateWords("or"))
	c.Flags().BoolVar(&asJSON, "json", false, "print everything for other programs")
	return c
}

// stateWords lists the states of a proposal.
func stateWords(last string) string {
	var words []string
	for _, s := range reorder.States() {
		words = append(words, string(s))
	}
	n := len(words) - 1
	return strings.Join(words[:n], ", ") + " " + last + " " + words[n]
}

// readStates checks the states asked for; none means all.
func readStates(words []string) ([]reorder.State, error) {
	known := reorder.States()
	var out []reorder.State
next:
	for _, w := range words {
		for _, s := range known {
			if strings.EqualFold(w, string(s)) {
				out = append(out, s)
				continue next
			}
		}
		return nil, usagef("--state %q is no state of a proposal; use %s", w, stateWords("or"))
	}
	return out, nil
}

// proposalsJSON is the shape of 'proposal list --json', format 1.
type proposalsJSON struct {
	Format    int                `json:"format"`
	Proposals []reorder.Proposal `json:"proposals"`
}

func (a *app) listProposals(ctx context.Context, b *books.Books, client string, states []reorder.State,
	asJSON bool) error {
	if client != "" {
		if _, err := b.Client(ctx, client); err != nil {
			return err
		}
	}
	list, err := b.Store.Proposals(ctx, client, states...)
	if err != nil {
		return err
	}
	if asJSON {
		return writeJSON(a.out, proposalsJSON{1, append([]reorder.Proposal{}, list...)})
	}
	t := page.Table{
		Columns: page.Columns("#No.", "Client", "As of", "State", "Yes by", "Arrives", "#Pieces", "#Price",
			"#Cost", "#Margin"),
		Empty: "There are no such proposals. 'kitmuster round' makes them for the clients that are due.",
	}
	for i := range list {
		p := &list[i]
		money := income(b.Shop, p.Priced(), p.Price, p.Margin())
		t.Row(
			p.Number, p.Client, b.Shop.DateStyle.Date(p.AsOf), p.State, b.Shop.DateStyle.Date(p.OrderBy),
			b.Shop.DateStyle.Date(p.Arrives),
			p.Pieces(), money[0], p.Cost().In(b.Shop.Currency), money[1],
		)
	}
	show(a.out, t)
	return nil
}

func newProposalShow(a *app) *cobra.Command {
	var explain, papers, asJSON bool
	c := &cobra.Command{
		Use:   "show NUMBER",
		Short: "Show one proposal: what, for whom, why, and what it costs",
		Long: `Shows one proposal with its lines, the people who get something, the money and its
history. With --explain every line tells how its number came about, with --papers
the job ticket and bag tags of an accepted one are written once more.`,
		Example: "  kitmuster proposal show 12 --explain",
		RunE: a.onBooks(func(ctx context.Context, b *books.Books, args []string) error {
			number, err := readNumber(args[0])
			if err != nil {
				return err
			}
			if papers {
				return a.papersAgain(ctx, b, number)
			}
			return a.showProposal(ctx, b, number, explain, asJSON)
		}),
	}
	c.Flags().BoolVar(&explain, "explain", false, "tell for every line how its number came about")
	c.Flags().BoolVar(&papers, "papers", false, "write the papers for the press once more")
	c.Flags().BoolVar(&asJSON, "json", false, "print everything for other programs")
	return c
}

// readNumber reads the number of a proposal.
func readNumber(word string) (int64, error) {
	n, err := strconv.ParseInt(strings.TrimPrefix(word, "#"), 10, 64)
	if err != nil || n < 1 {
		return 0, usagef("%q is no number of a proposal; 'kitmuster proposal list' shows them", word)
	}
	return n, nil
}
