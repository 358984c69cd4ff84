package main

import (
	"context"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"github.com/kitmuster/kitmuster/daemon"
	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/delivery"
	"github.com/kitmuster/kitmuster/daemon/handover"
	"github.com/kitmuster/kitmuster/daemon/hint"
	"github.com/kitmuster/kitmuster/daemon/record"
	"github.com/kitmuster/kitmuster/notify/page"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/clean"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

// peopleCommands are the entries about people and their kits, each one command.
func peopleCommands(a *app) []*cobra.Command {
	return []*cobra.Command{newStarterCommand(a), newExchangeCommand(a), newAwayCommand(a), newBackCommand(a)}
}

// moveFlags are common to the entries about people and their kits.
type moveFlags struct {
	on          string
	try, asJSON bool
}

func (f *moveFlags) register(c *cobra.Command, on string) {
	dayFlag(c, &f.on, "on", on)
	tryFlag(c, &f.try)
	jsonFlag(c, &f.asJSON)
}

// options returns the options that the flags state; a day after today is an error.
func (f *moveFlags) options(a *app, client string) (record.Options, error) {
	day, err := a.past(f.on)
	if err != nil {
		return record.Options{}, err
	}
	o := record.Options{Client: client, On: day, Try: f.try, Now: a.clock()}
	if shop, cfg, err := a.settings(); err == nil { // the command says what is wrong with them
		o.From = daemon.From(cfg, shop)
	}
	return o, nil
}

func newStarterCommand(a *app) *cobra.Command {
	var f moveFlags
	var role, site, start string
	var sizes []string
	var wait bool
	c := &cobra.Command{
		Use:   `starter CLIENT NAME [FAMILY=SIZE ...] [NAME ...]`,
		Short: "Hire people and give them their kits: shelf first, the rest proposed",
		Long: `One entry for one or several people who start. Each is hired; what lies on the
client's shelf of finished pieces for their kit is handed out, pieces worn before
first where the programme lets them go out again. What is on its way for nobody by
name, and nobody else lacks, is left to come; the rest is proposed, with a mail for the
client. A pick list and bag tags (PDF) are written into jobs/.

Words behind a name are that person's: sizes (top=M), role=, site=, start=, number=.
--role, --site, --start and --size are for all who have none of their own. Where the
programme gives a kit in two parts (first:), the first is picked, and pick list and
tags name the rest with its day. Of whom a size is missing, the pieces in question are
named and neither picked nor proposed; say 'starter' with the name and the size again,
and they follow.
Protective clothing that is not on the shelf waits for 'kitmuster held'.

With --wait nothing is proposed now: the next round does. 'kitmuster undo CLIENT'
takes all of it back.`,
		Example: `  kitmuster starter bakery "Kezia Larkfield" top=M "Tove Ashlock" top=L "Ned Fenwick" top=S --role baker --start 2026-03-09
  kitmuster starter bakery "Kezia Larkfield" bottom=30/32 --dry-run`,
		ValidArgsFunction: a.completeStarter,
		RunE: func(cmd *cobra.Command, args []string) error {
			first, err := a.day(start)
			if err != nil {
				return err
			}
			common := record.Starter{Role: role, Site: site, Start: first}
			if common.Sizes, err = sizeFlags(sizes); err != nil {
				return err
			}
			people, err := a.starters(args[1:], &common)
			if err != nil {
				return err
			}
			return a.carry(cmd, &f,
				func(ctx context.Context, b *books.Books, o record.Options) (record.Outcome, error) {
					return record.Start(ctx, b, record.Starters{Options: o, People: people, Wait: wait})
				})
		},
	}
	f.register(c, "day on which the kits are packed")
	dayFlag(c, &start, "start", "first day")
	c.Flags().BoolVar(&wait, "wait", false, "propose nothing now; the next round does")
	a.personFlags(c, &role, &site, &sizes)
	return c
}

// starters reads NAME words, each with the KEY=VALUE words behind it; what is not said of a person is taken from
// common.
func (a *app) starters(words []string, common *record.Starter) ([]record.Starter, error) {
	var out []record.Starter
	for _, w := range words {
		key, value, own := strings.Cut(w, "=")
		if !own {
			s := *common
			s.Name, s.Sizes = w, map[string]string{}
			out = append(out, s)
			continue
		}
		if len(out) == 0 {
			return nil, usagef("%q stands before any name; write NAME, then what is said of that person", w)
		}
		if err := a.ownWord(&out[len(out)-1], strings.TrimSpace(key), strings.TrimSpace(value)); err != nil {
			return nil, err
		}
	}
	for i := range out {
		for family, size := range common.Sizes {
			if _, own := out[i].Sizes[family]; !own {
				out[i].Sizes[family] = size
			}
		}
	}
	return out, nil
}

func (a *app) ownWord(s *record.Starter, key, value string) (err error) {
	if value == "" {
		return usagef("%s= says nothing; write it as top=M, role=baker, start=2026-03-09", key)
	}
	switch key {
	case "role":
		s.Role = value
	case "site":
		s.Site = value
	case "number":
		s.StaffID = value
	case "start":
		s.Start, err = a.day(value)
	default:
		s.Sizes[strings.TrimPrefix(key, "size_")] = value
	}
	return err
}

func newExchangeCommand(a *app) *cobra.Command {
	var f moveFlags
	var sizes []string
	var propose bool
	c := &cobra.Command{
		Use:   "exchange CLIENT PERSON",
		Short: "Give a person another size: change it, hand out, take back",
		Long: `One entry for another size. The person's size changes; what they hold keeps the size
it has. As many pieces of the new size as lie on the client's shelf are handed out,
and as many of the old come back: onto the shelf with their wear, where the
programme lets another wearer have them. What the shelf lacks is owed: spares that are on
their way are left to come, the rest the next round proposes, or --propose does at once,
and the old pieces count until it is there.

Where a kit has several cuts, a size of another (--size ladies-top=M) changes the cut,
and none (--size ladies-top=none) goes back to the first.

Without --size: takes back what no longer fits, as far as the new pieces have come.
A pick list and a bag tag (PDF) are written into jobs/. Whom all still fits, of a
size that only comes next: 'kitmuster change --size --held-fits'. 'kitmuster undo
CLIENT' takes all of it back.`,
		Example: "  kitmuster exchange bakery 0001 --size top=L\n  kitmuster exchange bakery 0002 --size top=XL --size bottom=34/32 --propose --dry-run",
		RunE: func(cmd *cobra.Command, args []string) error {
			byFamily, err := sizeFlags(sizes)
			if err != nil {
				return err
			}
			return a.carry(cmd, &f,
				func(ctx context.Context, b *books.Books, o record.Options) (record.Outcome, error) {
					return record.Swap(ctx, b, record.Exchange{Options: o, Person: args[1], Sizes: byFamily,
						Propose: propose})
				})
		},
	}
	f.register(c, "day on which pieces change hands")
	c.Flags().StringArrayVar(&sizes, "size", nil, "new size of a kind of garment, such as top=L; may be repeated")
	c.Flags().BoolVar(&propose, "propose", false, "propose at once what the shelf does not have")
	_ = c.RegisterFlagCompletionFunc("size", a.completeSize)
	return c
}

func newAwayCommand(a *app) *cobra.Command {
	var f moveFlags
	var from, until string
	var wears float64
	var usual bool
	c := &cobra.Command{
		Use:   "away CLIENT PERSON",
		Short: "Enter a leave of absence, or part-time wear, of one person",
		Long: `Enters a time in which a person wears nothing, or less than the kit says. While
somebody is away their pieces are not washed, nothing of theirs wears out or gets
lost, and nothing is owed to them; what their kit lacks is needed on the day of the
return. The forecast knows it week by week, and count forms leave them out.

--wears-a-week is part-time wear: 3 where the client works 5 days is three fifths
of the wears of each garment. --usual ends an absence early: from --from on the kit is
worn as the programme says. 'kitmuster undo CLIENT' takes the entry back.`,
		Example: "  kitmuster away bakery 0001 --from 2026-03-16 --until 2026-06-14\n  kitmuster away bakery 0002 --wears-a-week 3",
		RunE: func(cmd *cobra.Command, args []string) error {
			if cmd.Flags().Changed("wears-a-week") && (wears <= 0 || usual) {
				return usagef("--wears-a-week is %g; give a number above 0, and not with --usual", wears)
			}
			first, err := a.day(from)
			if err != nil {
				return err
			}
			last, err := dayOr(until, 0)
			if err != nil {
				return err
			}
			return a.carry(cmd, &f,
				func(ctx context.Context, b *books.Books, o record.Options) (record.Outcome, error) {
					return record.Away(ctx, b, record.Absence{Options: o, Person: args[1], From: first, Until: last,
						WearsAWeek: wears, Usual: usual})
				})
		},
	}
	f.register(c, "day of the entry")
	_ = c.Flags().MarkHidden("on")
	dayFlag(c, &from, "from", "first day")
	c.Flags().StringVar(&until, "until", "", "last day, year-month-day (default: until further notice)")
	c.Flags().Float64Var(&wears, "wears-a-week", 0, "how often the kit is worn in that time (default: not at all)")
	c.Flags().BoolVar(&usual, "usual", false, "from then on as the programme says")
	return c
}

func newBackCommand(a *app) *cobra.Command {
	var f moveFlags
	var last string
	c := &cobra.Command{
		Use:   "back CLIENT PERSON [GARMENT=PIECES ...]",
		Short: "Take a leaver's pieces back onto the shelf, with their wear",
		Long: `Takes back what a leaver held on the last day: all of it, or the pieces named. What
has life enough left for another wearer, as the programme's reissue_life_left asks,
lies on the client's shelf from then on with its washes: forecasts and proposals
count it first, and starters and exchanges get it first. What is too worn is out of
use, and so is protective clothing, which only its maker's rules can judge.

Pieces named are written GARMENT/COLOUR/SIZE=PIECES; as much of it is enough as
tells it from the others held. Of several alike the most worn are taken to have come
back. Pieces that came back by other ways: 'kitmuster receive finished --washes'.
'kitmuster undo CLIENT' takes all of it back.`,
		Example:           "  kitmuster back bakery 0001 --last-day 2026-03-06\n  kitmuster back bakery 0002 polo=2 --last-day 2026-03-06 --dry-run",
		ValidArgsFunction: a.completeLeaver,
		RunE: func(cmd *cobra.Command, args []string) error {
			lastDay, err := dayOr(last, 0)
			if err != nil {
				return err
			}
			pieces, err := readEach(args[2:], handed)
			if err != nil {
				return err
			}
			return a.carry(cmd, &f,
				func(ctx context.Context, b *books.Books, o record.Options) (record.Outcome, error) {
					return record.Back(ctx, b, record.Return{Options: o, Person: args[1], LastDay: lastDay,
						Pieces: pieces})
				})
		},
	}
	f.register(c, "day on which they came back")
	c.Flags().StringVar(&last, "last-day", "", "enter the person's last day with it, year-month-day")
	return c
}

// handed reads GARMENT=PIECES.
func handed(word string) (h record.Handed, err error) {
	name, number, ok := strings.Cut(word, "=")
	n, err := strconv.Atoi(strings.TrimSpace(number))
	if !ok || err != nil || n < 0 || n > 1000 {
		return h, usagef("read %q; write it as GARMENT=PIECES, such as polo=2 or polo/navy/M=2", word)
	}
	h.Garment, h.Colour, h.Size = programme.SplitSKU(name)
	h.Pieces = n
	return h, nil
}

// carry carries out an entry of a command whose first word is the client, writes its
// papers, and says what came of it.
func (a *app) carry(cmd *cobra.Command, f *moveFlags,
	do func(context.Context, *books.Books, record.Options) (record.Outcome, error)) error {
	client := cmd.Flags().Arg(0)
	opt, err := f.options(a, client)
	if err != nil {
		return err
	}
	return a.withBooks(cmd.Context(), func(ctx context.Context, b *books.Books) error {
		out, err := do(ctx, b, opt)
		if err != nil {
			return fmt.Errorf("nothing was entered: %w", err)
		}
		dir, err := out.WritePapers(b)
		if err != nil {
			return fmt.Errorf("the entry is made, but its papers are not written (they are in the mail to the owner as well): %w", err)
		}
		if !f.try {
			if err := delivery.WriteFiles(ctx, b, a.now); err != nil {
				return err
			}
		}
		if f.asJSON {
			return writeJSON(a.out, outcomeOf(client, &out, dir, f.try))
		}
		a.printMove(b.Shop, client, &out, dir, f.try)
		return nil
	})
}

// ordered reports whether the entry made a proposal that is accepted already.
func ordered(out *record.Outcome) bool {
	return out.Proposal != nil && out.Proposal.State == reorder.Accepted
}

// moveDocument is the JSON shape of an entry about people and their kits, format 1.
type moveDocument struct {
	Format   int             `json:"format"`
	Client   string          `json:"client"`
	Entry    int64           `json:"entry,omitempty"`
	On       programme.Date  `json:"on"`
	What     string          `json:"what"`
	People   []record.Kit    `json:"people"`
	Proposal int64           `json:"proposal,omitempty"`
	Price    programme.Money `json:"price,omitempty"`
	Notes    []string        `json:"notes,omitempty"`
	Papers   string          `json:"papers,omitempty"`
	Trial    bool            `json:"trial,omitempty"`
}

func outcomeOf(client string, out *record.Outcome, dir string, try bool) moveDocument {
	d := moveDocument{Format: 1, Client: client, Entry: out.Entry, On: out.On, What: out.Text, People: out.Kits,
		Notes: hint.Commands(out.Notes), Papers: dir, Trial: try}
	if out.Proposal != nil {
		d.Proposal, d.Price = out.Proposal.Number, out.Proposal.Price
	}
	return d
}

func (a *app) printMove(shop *programme.Shop, client string, out *record.Outcome, dir string, try bool) {
	for part := range strings.SplitSeq(out.Text, "; ") {
		fmt.Fprintf(a.out, "%s.\n", clean.Sentence(part))
	}
	if t := kitsTable(shop, out.Kits); len(t.Rows) > 0 {
		fmt.Fprintln(a.out)
		show(a.out, t)
		fmt.Fprintln(a.out)
	}
	for _, n := range out.Notes {
		fmt.Fprintf(a.out, "Note: %s.\n", n.Command)
	}
	if out.Proposal != nil {
		a.printProposed(shop, out, try)
	}
	switch {
	case dir != "" && ordered(out):
		fmt.Fprintf(a.out, "Papers for the press are in %s.\nNext, order its blanks and sheets: kitmuster orders, then: kitmuster proposal ordered %d\n",
			dir, out.Proposal.Number)
	case dir != "":
		fmt.Fprintf(a.out, "Pick list and bag tags are in %s.\n", dir)
	}
	if try {
		fmt.Fprintln(a.out, "This was a trial: nothing was entered.")
		return
	}
	fmt.Fprintf(a.out, "'kitmuster undo %s' takes it back.\n", client)
}

// kitsTable lists what an entry does with the pieces of each person.
func kitsTable(shop *programme.Shop, kits []record.Kit) page.Table {
	t := page.Table{Columns: page.Columns("Person", "What", "#Pieces", "Garment", "Colour", "Size", "")}
	for i := range kits {
		k := &kits[i]
		name := strings.TrimSpace(k.StaffID + " " + k.Name)
		row := func(what string, l programme.Lot, remark string) {
			t.Row(name, what, l.Pieces, shop.GarmentName(l.Garment), l.Colour, l.Size, remark)
			name = "" // stands in the person's first row alone
		}
		for _, part := range []struct {
			what string
			lots []programme.Lot
		}{
			{"take from the shelf", k.Picked}, {"proposed", k.Proposed}, {"owed, next round", k.Waiting},
			{"waits for a yes", k.Held},
			{"back to the shelf", k.Shelved}, {"back, out of use", k.Spent}, {"worn on until then", k.Kept},
		} {
			for _, l := range part.lots {
				worn := ""
				if l.Washes > 0 {
					worn = programme.NumberOf(l.Washes, "wash") + " behind it"
				}
				row(part.what, l, worn)
			}
		}
		for _, l := range k.Awaited {
			row(fmt.Sprintf("in proposal %d", l.Proposal), l.Lot, "")
		}
		for _, l := range k.Later {
			row("on "+shop.DateStyle.Date(l.On), l.Lot, "the rest of the kit")
		}
	}
	return t
}

// printProposed tells of the proposal that an entry made.
func (a *app) printProposed(shop *programme.Shop, out *record.Outcome, try bool) {
	p := out.Proposal
	what := fmt.Sprintf("Proposal %d", p.Number)
	if try {
		what = "A proposal"
	}
	price := ""
	if p.Priced() {
		price = ", " + p.Price.In(shop.Currency)
	}
	when := fmt.Sprintf("in hands by %s if the yes comes by %s", shop.DateStyle.Date(p.Arrives),
		shop.DateStyle.Date(p.OrderBy))
	if ordered(out) {
		when = fmt.Sprintf("accepted, in hands by %s", shop.DateStyle.Date(p.Arrives))
	}
	fmt.Fprintf(a.out, "%s: %s%s, %s.\n", what, programme.NumberOf(p.Pieces(), "piece"), price, when)
	if !try && p.State.Open() {
		fmt.Fprintf(a.out, "The draft to the client is in drafts/. When they say yes: kitmuster proposal accept %d\n",
			p.Number)
	}
}

// completeStarter offers clients, then the size families, and roles behind role=.
func (a *app) completeStarter(cmd *cobra.Command, args []string, start string) ([]string, cobra.ShellCompDirective) {
	if len(args) == 0 {
		return a.completeClient(cmd, args, start)
	}
	if len(args) == 1 {
		return nil, cobra.ShellCompDirectiveNoFileComp
	}
	if key, _, ok := strings.Cut(start, "="); ok && key == "role" {
		words, d := a.completeRole(cmd, args, "")
		for i := range words {
			words[i] = "role=" + words[i]
		}
		return words, d
	}
	words, d := a.completeSize(cmd, args, start)
	if !strings.Contains(start, "=") {
		words = append(words, "role=", "site=", "start=", "number=")
		d |= cobra.ShellCompDirectiveNoSpace
	}
	return words, d
}

// completeSize offers the kinds of sizes, and behind one of them its sizes.
func (a *app) completeSize(cmd *cobra.Command, _ []string, start string) ([]string, cobra.ShellCompDirective) {
	words, d := a.offer(cmd, func(_ context.Context, b *books.Books) ([]string, error) {
		family, _, chosen := strings.Cut(start, "=")
		var out []string
		for i := range b.Shop.Garments {
			g := &b.Shop.Garments[i]
			if handover.Charts(b.Shop)[g.SizeFamily] == nil {
				continue
			}
			if !chosen && !slices.Contains(out, g.SizeFamily+"=") {
				out = append(out, g.SizeFamily+"=")
			}
			for _, s := range g.Sizes {
				if word := family + "=" + s.Code; chosen && g.SizeFamily == family && !slices.Contains(out, word) {
					out = append(out, word)
				}
			}
		}
		return out, nil
	})
	if !strings.Contains(start, "=") {
		d |= cobra.ShellCompDirectiveNoSpace
	}
	return words, d
}

// completeLeaver offers clients, then people, those who have left first, then what
// they may hold.
func (a *app) completeLeaver(cmd *cobra.Command, args []string, start string) ([]string, cobra.ShellCompDirective) {
	switch len(args) {
	case 0:
		return a.completeClient(cmd, args, start)
	case 1:
		return a.offer(cmd, func(ctx context.Context, b *books.Books) ([]string, error) {
			people, err := b.Store.People(ctx, args[0])
			var left, there []string
			for i := range people {
				p := &people[i]
				if word := p.StaffID + "\t" + p.Name; p.End.IsZero() {
					there = append(there, word)
				} else {
					left = append(left, word)
				}
			}
			return append(left, there...), err
		})
	default:
		words, d := a.completeMove(cmd, args[:2], "")
		for i := range words {
			word, name, _ := strings.Cut(words[i], "\t")
			words[i] = word + "=\t" + name
		}
		return words, d | cobra.ShellCompDirectiveNoSpace
	}
}
