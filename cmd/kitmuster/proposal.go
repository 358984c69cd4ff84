package main

import (
	"context"
	"fmt"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"github.com/kitmuster/kitmuster/daemon"
	"github.com/kitmuster/kitmuster/daemon/answer"
	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/notify/page"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

func newProposalCommand(a *app) *cobra.Command {
	c := &cobra.Command{
		Use:   "proposal",
		Short: "Show proposed reorders and record what came of them",
		Long: `A round suggests a reorder to each client that is due. These commands show the
proposals and record what people say about them: the client's yes or no, that
blanks and sheets are ordered, that the finished pieces are handed over.`,
		Example: "  kitmuster proposal list\n  kitmuster proposal show 12 --explain\n  kitmuster proposal accept 12",
		Args:    cobra.NoArgs,
		RunE:    func(c *cobra.Command, _ []string) error { return c.Help() },
	}
	c.AddCommand(newProposalList(a), newProposalShow(a))
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
		Example:           "  kitmuster proposal list\n  kitmuster proposal list bakery --state sent,accepted",
		Args:              atMostOne("CLIENT"),
		ValidArgsFunction: a.completeClient,
		RunE: func(cmd *cobra.Command, args []string) error {
			wanted, err := readStates(states)
			if err != nil {
				return err
			}
			return a.withBooks(cmd.Context(), func(ctx context.Context, b *books.Books) error {
				return a.listProposals(ctx, b, strings.Join(args, ""), wanted, asJSON)
			})
		},
	}
	c.Flags().StringSliceVar(&states, "state", nil, "only those that are drafted, sent, accepted, declined, ordered, received or lapsed")
	c.Flags().BoolVar(&asJSON, "json", false, "print everything for other programs")
	return c
}

// readStates checks the states asked for; none means all.
func readStates(words []string) ([]reorder.State, error) {
	known := []reorder.State{reorder.Drafted, reorder.Sent, reorder.Accepted, reorder.Declined, reorder.Ordered, reorder.Received, reorder.Lapsed}
	var out []reorder.State
next:
	for _, w := range words {
		for _, s := range known {
			if strings.EqualFold(w, string(s)) {
				out = append(out, s)
				continue next
			}
		}
		return nil, usagef("--state %q is no state of a proposal; use drafted, sent, accepted, declined, ordered, received or lapsed", w)
	}
	return out, nil
}

// proposalsJSON is the shape of 'proposal list --json', format 1.
type proposalsJSON struct {
	Format    int                `json:"format"`
	Proposals []reorder.Proposal `json:"proposals"`
}

func (a *app) listProposals(ctx context.Context, b *books.Books, client string, states []reorder.State, asJSON bool) error {
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
	if len(list) == 0 {
		fmt.Fprintln(a.out, "There are no such proposals. 'kitmuster round' makes them for the clients that are due.")
		return nil
	}
	t := page.Table{Columns: page.Columns("#No.", "Client", "As of", "State", "Yes by", "Arrives", "#Pieces", "#Price", "#Cost", "#Margin")}
	for i := range list {
		p := &list[i]
		t.Row(
			p.Number, p.Client, b.Shop.DateStyle.Date(p.AsOf), p.State, b.Shop.DateStyle.Date(p.OrderBy), b.Shop.DateStyle.Date(p.Arrives),
			p.Pieces(), p.Price.In(b.Shop.Currency), p.Cost().In(b.Shop.Currency), p.Margin().In(b.Shop.Currency),
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
		Args:    exactlyOne("NUMBER"),
		RunE: func(cmd *cobra.Command, args []string) error {
			number, err := readNumber(args[0])
			if err != nil {
				return err
			}
			return a.withBooks(cmd.Context(), func(ctx context.Context, b *books.Books) error {
				if papers {
					return a.papersAgain(ctx, b, number)
				}
				return a.showProposal(ctx, b, number, explain, asJSON)
			})
		},
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

// verb is one thing that people say about a proposal, as a command.
type verb struct {
	word, short, long, next string
	event                   reorder.Event
}

var verbs = []verb{
	{
		word: "accept", event: reorder.Accept, short: "Record the client's yes",
		long: `Records that the client said yes. Blanks of the shelf that the order uses are set
aside, and the papers for the press are written and mailed to the owner: a job
ticket, bag tags, a packing list.`,
		next: "order the blanks and sheets, then: kitmuster proposal ordered %d",
	},
	{
		word: "decline", event: reorder.Decline, short: "Record the client's no",
		long: `Records that the client said no, or changed their mind before anything was
ordered. Blanks set aside go back to the shelf. An order that suppliers took
back is recorded with --cancelled.`,
	},
	{
		word: "ordered", event: reorder.Order, short: "Record that blanks and sheets are ordered",
		long: `Records that what is to be bought is ordered. From then on the pieces count as on
their way.`,
		next: "when the pieces are handed over: kitmuster proposal received %d",
	},
	{
		word: "received", event: reorder.Receive, short: "Record that the finished pieces are handed over",
		long: `Records that the pieces are in the client's hands. Each named piece is written into
the ledger as issued to its person; pieces for new starters and spares go onto the
client's shelf, and so do those of people who have left or wear another size now.`,
	},
}

func newProposalAnswer(a *app, v verb) *cobra.Command {
	var on, note string
	var cancelled bool
	c := &cobra.Command{
		Use:     v.word + " NUMBER",
		Short:   v.short,
		Long:    v.long,
		Example: fmt.Sprintf("  kitmuster proposal %s 12 --note \"by telephone\"", v.word),
		Args:    exactlyOne("NUMBER"),
		RunE: func(cmd *cobra.Command, args []string) error {
			number, err := readNumber(args[0])
			if err != nil {
				return err
			}
			day, err := a.day(on)
			if err != nil {
				return err
			}
			said := answer.Answer{Number: number, Event: v.event, Day: day, Note: note}
			if cancelled {
				said.Event = reorder.Cancel
			}
			if said.Event == reorder.Accept {
				shop, cfg, err := a.settings()
				if err != nil {
					return err
				}
				said.From = daemon.From(cfg, shop)
			}
			return a.withBooks(cmd.Context(), func(ctx context.Context, b *books.Books) error {
				return a.answerProposal(ctx, b, v, said)
			})
		},
	}
	c.Flags().StringVar(&on, "on", "", "the day on which it happened, year-month-day (default: today)")
	c.Flags().StringVar(&note, "note", "", "a remark to keep with it")
	if v.event == reorder.Decline {
		c.Flags().BoolVar(&cancelled, "cancelled", false, "it was ordered, and the suppliers took the order back")
	}
	return c
}

// answerProposal carries the answer out and tells what came of it.
func (a *app) answerProposal(ctx context.Context, b *books.Books, v verb, said answer.Answer) error {
	p, err := b.Store.Proposal(ctx, said.Number)
	if err != nil {
		return err
	}
	client, err := b.Client(ctx, p.Client)
	if err != nil {
		return err
	}
	var out answer.Outcome
	err = b.Store.InTx(ctx, func(tx *store.Tx) (err error) {
		out, err = answer.Record(tx, b.Shop, client, said)
		return err
	})
	if err != nil {
		return err
	}
	a.printOutcome(b.Shop, client, &out)
	if out.Proposal.State == reorder.Accepted {
		if err := a.writePapers(b.Home, &out.Proposal, out.Papers); err != nil {
			return fmt.Errorf("the yes is recorded, but its papers are not written (try 'kitmuster proposal show %d --papers'): %w", said.Number, err)
		}
	}
	if v.next != "" {
		fmt.Fprintf(a.out, "Next, "+v.next+"\n", said.Number)
	}
	return nil
}

func (a *app) printOutcome(shop *programme.Shop, client *programme.Client, out *answer.Outcome) {
	p := &out.Proposal
	fmt.Fprintf(a.out, "Proposal %d for %s is %s.\n", p.Number, client.Name, p.State)
	switch p.State {
	case reorder.Accepted:
		fmt.Fprintf(a.out, "%d pieces, in hands by %s.\n", p.Pieces(), shop.DateStyle.Date(p.Arrives))
	case reorder.Received:
		fmt.Fprintf(a.out, "%d pieces issued to people, %d on the client's shelf.\n", out.Issued, out.Shelved)
	case reorder.Drafted, reorder.Sent, reorder.Declined, reorder.Ordered, reorder.Lapsed:
	}
	for _, n := range out.Notices {
		fmt.Fprintln(a.out, "Note: "+n)
	}
}

// clientName is what people call a client; its code when the programme does not read.
func clientName(ctx context.Context, b *books.Books, code string) string {
	c, err := b.Client(ctx, code)
	if err != nil || c.Name == "" {
		return code
	}
	return c.Name
}
