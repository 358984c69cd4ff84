package main

import (
	"context"
	"fmt"
	"io"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/forecast"
	"github.com/kitmuster/kitmuster/daemon/record"
	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/notify/page"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/demand"
)

func newLogCommand(a *app) *cobra.Command {
	var asOf string
	var asJSON bool
	c := &cobra.Command{
		Use:   "log CLIENT [PERSON]",
		Short: "Show what was entered for a client, or what a person holds and how worn it is",
		Long: `Without a person: what was handed over or entered for the client, the newest first.
With a person, named by staff number or name: what they hold, how many washes each
piece has behind it and by when such pieces end, and every movement so far.
It changes nothing.`,
		Example: "  kitmuster log bakery\n  kitmuster log bakery 0001",
		RunE: a.onBooksAsOf(&asOf, func(ctx context.Context, b *books.Books, day programme.Date, args []string) error {
			if len(args) == 1 {
				return a.clientLog(ctx, b, args[0], asJSON)
			}
			return a.personLog(ctx, b, args[0], args[1], day, asJSON)
		}),
	}
	dayFlag(c, &asOf, "as-of", "day to look at")
	jsonFlag(c, &asJSON)
	return c
}

// logLength is the number of entries that are shown.
const logLength = 30

type logEntry struct {
	At    string `json:"at"`
	Kind  string `json:"kind"`
	What  string `json:"what"`
	New   int    `json:"new"`
	Known int    `json:"known"`
}

func (a *app) clientLog(ctx context.Context, b *books.Books, client string, asJSON bool) error {
	if _, err := b.Client(ctx, client); err != nil {
		return err
	}
	list, err := b.Store.Imports(ctx, client, logLength)
	if err != nil {
		return err
	}
	if asJSON {
		entries := []logEntry{}
		for _, in := range list {
			entries = append(entries, logEntry{in.At.Format("2006-01-02T15:04:05Z07:00"), in.Kind, in.File,
				in.New, in.Known})
		}
		return writeJSON(a.out, map[string]any{"format": 1, "client": client, "entries": entries})
	}
	people, err := b.Store.People(ctx, client)
	if err != nil {
		return err
	}
	zone := b.Zone()
	t := page.Table{Columns: page.Columns("When", "What", "#Rows"), Empty: "Nothing was handed over or entered yet."}
	for _, in := range list {
		t.Row(b.Shop.DateStyle.Moment(in.At.In(zone)), record.Words(&in, people), importRows(in))
	}
	show(a.out, t)
	return nil
}

func importRows(in store.Import) string {
	if in.Kind == store.ByHand {
		return ""
	}
	return fmt.Sprintf("%d new", in.New)
}

// personPage is the JSON shape of one person's pieces and movements, format 1.
type personPage struct {
	Format    int              `json:"format"`
	Client    string           `json:"client"`
	AsOf      programme.Date   `json:"as_of"`
	Person    personResult     `json:"person"`
	Pieces    []demand.Outlook `json:"pieces"`
	Movements []moveResult     `json:"movements"`
}

type moveResult struct {
	Date     programme.Date         `json:"date"`
	Movement programme.MovementKind `json:"movement"`
	programme.SKU
	Pieces   int              `json:"pieces"`
	Reason   programme.Reason `json:"reason,omitempty"`
	Washes   float64          `json:"washes,omitempty"`
	Assumed  bool             `json:"assumed,omitempty"`
	Proposal int64            `json:"proposal,omitempty"`
}

// outlookWeeks is the horizon of a person's page.
const outlookWeeks = 12

func (a *app) personLog(ctx context.Context, b *books.Books, client, word string, day programme.Date,
	asJSON bool) error {
	rec, err := b.Records(ctx, client, day)
	if err != nil {
		return err
	}
	p, err := record.FindPerson(rec.People, word)
	if err != nil {
		return err
	}
	in, err := forecast.Inspect(ctx, b, client, day)
	if err != nil {
		return err
	}
	page := personPage{Format: 1, Client: client, AsOf: day, Person: persons([]programme.Person{*p})[0],
		Pieces: []demand.Outlook{}, Movements: []moveResult{}}
	for _, o := range in.Muster(outlookWeeks).Pieces {
		if o.StaffID == p.StaffID {
			page.Pieces = append(page.Pieces, o)
		}
	}
	slices.SortStableFunc(page.Pieces, func(x, y demand.Outlook) int {
		return strings.Compare(x.String()+x.Issued.String(), y.String()+y.Issued.String())
	})
	for _, mv := range rec.Movements {
		if mv.StaffID == p.StaffID {
			page.Movements = append(page.Movements, moveResult{mv.Date, mv.Kind, mv.SKU, mv.Pieces, mv.Reason,
				mv.Washes, mv.Assumed, mv.Proposal})
		}
	}
	slices.SortStableFunc(page.Movements, func(x, y moveResult) int { return int(x.Date) - int(y.Date) })
	if asJSON {
		return writeJSON(a.out, page)
	}
	printPerson(a.out, b.Shop, &page)
	return nil
}

func printPerson(w io.Writer, shop *programme.Shop, who *personPage) {
	p, day := &who.Person, shop.DateStyle.Date
	until := ""
	if !p.End.IsZero() {
		until = ", last day " + day(p.End)
	}
	fmt.Fprintf(w, "%s, %s, since %s%s\n\n", strings.TrimSpace(p.StaffID+" "+p.Name), p.Role, day(p.Start), until)
	if len(who.Pieces) == 0 {
		fmt.Fprintln(w, "Holds nothing that the ledger knows of.")
	} else {
		fmt.Fprintf(w, "Holds on %s:\n\n", day(who.AsOf))
		t := page.Table{Columns: page.Columns("Garment", "Colour", "Size", "Issued", "#Washes",
			fmt.Sprintf("Ends within %d weeks", outlookWeeks), "Half such pieces end by")}
		for i := range who.Pieces {
			o := &who.Pieces[i]
			t.Row(shop.GarmentName(o.Garment), o.Colour, o.Size, issuedWords(shop, o), fmt.Sprintf("%.0f", o.Washes),
				fmt.Sprintf("%.0f %%", 100*o.PEnd), day(o.D50))
		}
		show(w, t)
	}
	if len(who.Movements) == 0 {
		return
	}
	fmt.Fprint(w, "\nSo far:\n\n")
	t := page.Table{Columns: page.Columns("Day", "What", "#Pieces", "Garment", "Colour", "Size", "Why or how")}
	for i := range who.Movements {
		m := &who.Movements[i]
		t.Row(day(m.Date), m.Movement, m.Pieces, shop.GarmentName(m.Garment), m.Colour, m.Size, moveNote(m))
	}
	show(w, t)
}

func moveNote(m *moveResult) string {
	var notes []string
	if m.Reason != programme.NoReason {
		notes = append(notes, string(m.Reason))
	}
	if m.Washes > 0 {
		notes = append(notes, fmt.Sprintf("%g washes behind them", m.Washes))
	}
	if m.Proposal != 0 {
		notes = append(notes, fmt.Sprintf("proposal %d", m.Proposal))
	}
	if m.Assumed {
		notes = append(notes, "assumed from past orders")
	}
	return strings.Join(notes, ", ")
}
