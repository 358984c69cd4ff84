package main

import (
	"context"
	"errors"
	"fmt"
	"slices"

	"github.com/spf13/cobra"

	"github.com/kitmuster/kitmuster/daemon"
	"github.com/kitmuster/kitmuster/daemon/answer"
	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/delivery"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/clean"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

// verb describes a command that records an answer to a proposal.
type verb struct {
	word, short, long, next string
	event                   reorder.Event
	example                 string
	// words names the arguments after NUMBER; empty = there are none.
	words string
	// flags registers what the command knows beside day, note and trial.
	flags func(c *cobra.Command, f *answerFlags)
	// fill reads words and flags into the answer, once the proposal is known.
	fill func(a *app, b *books.Books, p *reorder.Proposal, f *answerFlags, words []string, said *answer.Answer) error
}

// answerFlags are the flags of all answers; each command registers its own.
type answerFlags struct {
	on, note  string
	try       bool
	changes   []string
	only      []string
	list      string
	plan      string
	budget    string
	maps      []string
	sheet     string
	until     string
	because   string
	cancelled bool
	came      bool
	kept      bool
	form      int
	yes       bool

	back, wrong, spoilt, givenUp []string
}

// lineWords tells in the help of commands how lines are written.
const lineWords = `

A line is written GARMENT/COLOUR/SIZE=PIECES, polo/navy/M=4; as much of it is enough as
tells it from the other lines of the proposal: M=4.`

var verbs = []verb{
	{
		word: "accept", event: reorder.Accept, short: "Record the client's yes, as it stands or with changes",
		long: `Records that the client said yes. Blanks of the shelf that the order uses are set
aside, and the papers for the press are written and mailed to the owner: a job
ticket, bag tags, a packing list.

With --change, with --only and what they want alone, or with --list and the list that
went out with other numbers in it, it is a yes with changes. A late yes is a yes, also
after a proposal lapsed, and so is one to an older form, which --form names: pieces as
on that form, day and prices worked out anew. What comes out is shown first, and counts
with --yes.` + lineWords,
		next: "order the blanks and sheets: kitmuster orders", example: `proposal accept 12 --note "by telephone"` +
			"\n  kitmuster proposal accept 12 --change polo/navy/M=4 --change cap=0\n  kitmuster proposal accept 12 --only polo\n  kitmuster proposal accept 12 --list proposal-12-list.csv",
		flags: acceptFlags,
		fill: func(a *app, b *books.Books, p *reorder.Proposal, f *answerFlags, words []string,
			said *answer.Answer,
		) error {
			if f.form < 0 || f.form > p.Form() {
				return usagef("--form %d: proposal %d has %s", f.form, p.Number, programme.NumberOf(p.Form(), "form"))
			}
			said.Form = f.form
			return fillChanges(a, b, p, f, words, said)
		},
	},
	{
		word: "change", event: reorder.Change, short: "Change the pieces of a proposal that is not ordered yet",
		long: `Sets other numbers of pieces: up, down, to nothing, or of a line that was not there.
What is taken away is taken from spares first, then from those of the least need,
who are named. The answer shows the new price; the job's papers are written anew
where the client had said yes.` + lineWords,
		words: "[LINE=PIECES ...]", example: "proposal change 12 polo/navy/M=4 apron=0\n  kitmuster proposal change 12 --budget 400.00\n  kitmuster proposal change 12 --list proposal-12-list.csv --dry-run",
		flags: func(c *cobra.Command, f *answerFlags) {
			listFlags(c, f)
		},
		fill: fillChanges,
	},
	{
		word: "put-off", event: reorder.Wait, short: "Record that the client wants to be asked again later",
		long: `Records a not now: the client is not asked again before the day, and a round
from that day on proposes from its own records. A yes before that counts.`,
		example: "proposal put-off 12 --until 2026-05-04",
		flags: func(c *cobra.Command, f *answerFlags) {
			untilFlag(c, f, "the day on which to ask again, year-month-day")
		},
		fill: func(_ *app, _ *books.Books, _ *reorder.Proposal, f *answerFlags, _ []string, said *answer.Answer) error {
			if f.until == "" {
				return usagef("say until when with --until")
			}
			return readUntil(f, said)
		},
	},
	{
		word: "decline", event: reorder.Decline, short: "Record the client's no, and why",
		long: `Records that the client said no, or changed their mind before anything was
ordered. Blanks set aside go back to the shelf. A no stays a no: the same need is
not proposed again until the day named with --until or, without one, until more is
missing. An order that suppliers took back is recorded with --cancelled.`,
		example: `proposal decline 12 --because "new logo in autumn" --until 2026-09-01`,
		flags: func(c *cobra.Command, f *answerFlags) {
			untilFlag(c, f, "do not propose it again before this day, year-month-day")
			c.Flags().StringVar(&f.because, "because", "", "the reason, in the client's words")
			c.Flags().BoolVar(&f.cancelled, "cancelled", false, "it was ordered, and the suppliers took the order back")
		},
		fill: func(_ *app, _ *books.Books, _ *reorder.Proposal, f *answerFlags, _ []string, said *answer.Answer) error {
			said.Because = f.because
			if f.cancelled {
				said.Event = reorder.Cancel
			}
			return readUntil(f, said)
		},
	},
	{
		word: "ordered", event: reorder.Order, short: "Record that blanks and sheets are ordered",
		long: `Records that what is to be bought for the proposal is ordered: the orders that were
written for it are sent. Where none was written, its sheets are laid out for it alone.
From then on the pieces count as on their way. 'kitmuster orders sent' does the same
for all orders at once.`,
		next: "when goods come: kitmuster proposal arrived %d", example: "proposal ordered 12",
	},
	{
		word: "arrived", event: reorder.Arrive, short: "Record which finished pieces came, and which did not",
		long: `Records what came of the goods: LINE=PIECES are finished and handed over; without any
and without a flag, all that is still to come, apart from what is on back-order until a
later day. People get theirs in the order of need; what nobody is named for lies on the
client's shelf; what did not come is issued to nobody and stays on order.

--back LINE=PIECES@DAY is on back-order until then. --wrong is not what was ordered
and went back. --spoilt was lost at the press and must be printed again: 'kitmuster
orders' buys its blank and transfers. --given-up will not come any more.

The pieces that new ones replace count as thrown out; with --old-kept they stay in use.` + lineWords,
		words: "[LINE=PIECES ...]", example: "proposal arrived 12\n  kitmuster proposal arrived 12 polo/navy/M=4 --back polo/navy/L=2@2026-04-13 --spoilt apron=1",
		flags: func(c *cobra.Command, f *answerFlags) {
			c.Flags().StringArrayVar(&f.back, "back", nil,
				"pieces on back-order and their day, LINE=PIECES@DAY; may be repeated")
			c.Flags().StringArrayVar(&f.wrong, "wrong", nil,
				"pieces that were not what was ordered, LINE=PIECES; may be repeated")
			c.Flags().StringArrayVar(&f.spoilt, "spoilt", nil, "pieces lost at the press, LINE=PIECES; may be repeated")
			keptFlag(c, f)
			c.Flags().StringArrayVar(&f.givenUp, "given-up", nil,
				"pieces that will not come any more, LINE=PIECES; may be repeated")
		},
		fill: fillDeliveries,
	},
	{
		word: "remake", event: reorder.Remake, short: "Record pieces that must be printed again",
		long: `Records pieces whose blank and transfers must be had again: of those still to come, or,
of a line that has come whole or with --came, of those on the client's shelf, which
leave it.` + lineWords,
		next:  "buy their blanks and transfers: kitmuster orders",
		words: "LINE=PIECES ...", example: "proposal remake 12 polo/navy/M=2",
		flags: func(c *cobra.Command, f *answerFlags) {
			c.Flags().BoolVar(&f.came, "came", false, "they had come already and lie on the client's shelf")
		},
		fill: func(_ *app, b *books.Books, p *reorder.Proposal, f *answerFlags, words []string,
			said *answer.Answer,
		) error {
			said.Came = f.came
			var err error
			said.Again, err = readLines(b.Shop, p, words)
			return err
		},
	},
	{
		word: "received", event: reorder.Receive, short: "Record that all finished pieces are handed over",
		long: `Records that the pieces still to come are in the client's hands. Each named piece is
written into the ledger as issued to its person; pieces for starters and spares
go onto the client's shelf, and so do those of people who have left or wear another
size now. Where only some came: 'kitmuster proposal arrived'.

The pieces that new ones replace count as thrown out; with --old-kept they stay in use.`,
		example: "proposal received 12", flags: keptFlag,
	},
}

func keptFlag(c *cobra.Command, f *answerFlags) {
	c.Flags().BoolVar(&f.kept, "old-kept", false, oldKeptUsage)
}

func untilFlag(c *cobra.Command, f *answerFlags, usage string) {
	c.Flags().StringVar(&f.until, "until", "", usage)
}

func acceptFlags(c *cobra.Command, f *answerFlags) {
	c.Flags().IntVar(&f.form, "form", 0, "the form that the client said yes to (default: the newest)")
	c.Flags().BoolVar(&f.yes, "yes", false, "the client knows of the day or price that is not the one promised")
	c.Flags().StringArrayVar(&f.changes, "change", nil, "another number of pieces, LINE=PIECES; may be repeated")
	listFlags(c, f)
}

// listFlags are the flags about the list that comes back.
func listFlags(c *cobra.Command, f *answerFlags) {
	c.Flags().StringArrayVar(&f.only, "only", nil, "nothing but this garment, or line; may be repeated")
	c.Flags().StringVar(&f.list, "list", "", "the list that went out, with other numbers in it")
	c.Flags().StringVar(&f.plan, "plan", "", "take a plan that 'proposal curve' shows: must, longer")
	c.Flags().StringVar(&f.budget, "budget", "", "take the best part of the proposal for this much money")
	c.Flags().StringArrayVar(&f.maps, "map", nil,
		`heading of the list and our name for it, "Qty wanted=pieces"; may be repeated`)
	c.Flags().StringVar(&f.sheet, "sheet", "", "sheet of a workbook (default: the one with the headings)")
}

func newProposalAnswer(a *app, v verb) *cobra.Command {
	var f answerFlags
	use := v.word + " NUMBER"
	if v.words != "" {
		use += " " + v.words
	}
	c := &cobra.Command{
		Use: use, Short: v.short, Long: v.long, Example: "  kitmuster " + v.example,
		ValidArgsFunction: a.completeAnswer(v),
		RunE: a.onBooks(func(ctx context.Context, b *books.Books, args []string) error {
			number, err := readNumber(args[0])
			if err != nil {
				return err
			}
			day, err := a.past(f.on)
			if err != nil {
				return err
			}
			said := answer.Answer{Number: number, Event: v.event, Day: day, Note: f.note, OldKept: f.kept, Home: a.home}
			return a.answerProposal(ctx, b, &v, &f, args[1:], said)
		}),
	}
	dayFlag(c, &f.on, "on", "the day on which it happened")
	c.Flags().StringVar(&f.note, "note", "", "a remark to keep with it")
	tryFlag(c, &f.try)
	if v.flags != nil {
		v.flags(c, &f)
	}
	return c
}

// answerProposal records an answer and prints what it changed.
func (a *app) answerProposal(ctx context.Context, b *books.Books, v *verb, f *answerFlags, words []string,
	said answer.Answer) error {
	p, err := b.Store.Proposal(ctx, said.Number)
	if err != nil {
		return err
	}
	client, err := b.Client(ctx, p.Client)
	if err != nil {
		return err
	}
	if v.fill != nil {
		if err := v.fill(a, b, &p, f, words, &said); err != nil {
			return err
		}
	}
	if said.Event == reorder.Accept || said.Event == reorder.Change {
		shop, cfg, err := a.settings()
		if err != nil {
			return err
		}
		said.From = daemon.From(cfg, shop)
	}
	said.Known = f.yes
	out, err := answer.Give(ctx, b.Store, b.Shop, client, said, f.try)
	anew := errors.Is(err, answer.ErrAnew)
	if err != nil && !anew {
		return withCommand(err, said.Number)
	}
	a.printOutcome(b.Shop, client, &p, &out, f.try || anew, f.kept || client.OldPiecesKept)
	if anew {
		return fmt.Errorf("%w: tell them, then say it again with --yes", err)
	}
	if f.try {
		fmt.Fprintln(a.out, "This was a trial: nothing was recorded.")
		return nil
	}
	if len(out.Papers) > 0 {
		if err := a.writePapers(b, &out.Proposal, out.Papers); err != nil {
			return fmt.Errorf("the answer is recorded, but its papers are not written (try 'kitmuster proposal show %d --papers'): %w", said.Number, err)
		}
	}
	if err := delivery.WriteFiles(ctx, b, a.now); err != nil {
		return err
	}
	if v.next != "" {
		fmt.Fprintf(a.out, "Next, %s\n", nextWords(v.next, said.Number))
	}
	return nil
}

// withCommand names the command that makes a refused answer possible, where one does.
func withCommand(err error, number int64) error {
	var refused *reorder.StateError
	if !errors.As(err, &refused) {
		return err
	}
	first := refused.First()
	i := slices.IndexFunc(verbs, func(v verb) bool { return v.event == first })
	if i < 0 {
		return err
	}
	return fmt.Errorf("%w ('kitmuster proposal %s %d')", err, verbs[i].word, number)
}

func (a *app) printOutcome(shop *programme.Shop, client *programme.Client, before *reorder.Proposal,
	out *answer.Outcome, try, kept bool) {
	p := &out.Proposal
	is := "is"
	if try {
		is = "would be"
	}
	fmt.Fprintf(a.out, "Proposal %d for %s %s %s.\n", p.Number, client.Name, is, p.State)
	lines, price := answer.Changes(shop, before, p)
	for _, l := range lines {
		fmt.Fprintln(a.out, "  "+l)
	}
	if price != "" {
		fmt.Fprintln(a.out, clean.Sentence(price)+".")
	}
	date := shop.DateStyle.Date
	switch p.State {
	case reorder.Accepted:
		fmt.Fprintf(a.out, "%d pieces, in hands by %s.\n", p.Pieces(), date(p.Arrives))
		if lasts := answer.Lasts(shop, p); lasts != "" {
			fmt.Fprintln(a.out, clean.Sentence(lasts)+".")
		}
	case reorder.PutOff:
		fmt.Fprintf(a.out, "The client is asked again on %s.\n", date(p.Until))
	case reorder.PartReceived, reorder.Received:
		fmt.Fprintf(a.out, "%d pieces issued to people, %d on the client's shelf.\n", out.Issued, out.Shelved)
		if out.Issued > 0 && !kept {
			fmt.Fprintln(a.out, "The old pieces that these replace count as thrown out. If they stay in use, undo this and say it again with --old-kept.")
		}
		a.printComing(shop, p)
	case reorder.Drafted, reorder.Sent, reorder.Declined, reorder.Ordered, reorder.Lapsed:
	}
	for _, n := range out.Notices {
		fmt.Fprintln(a.out, "Note: "+n.Command)
	}
}

// printComing tells what is still to come and when.
func (a *app) printComing(shop *programme.Shop, p *reorder.Proposal) {
	for _, c := range p.Coming() {
		fmt.Fprintf(a.out, "  still to come: %d × %s, by %s\n", c.Pieces, answer.Name(shop, c.SKU),
			shop.DateStyle.Date(c.On))
	}
}
