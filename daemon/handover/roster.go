package handover

import (
	"context"
	"errors"
	"fmt"
	"maps"
	"slices"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/match"
	"github.com/kitmuster/kitmuster/programme/roster"
	"github.com/kitmuster/kitmuster/programme/size"
	"github.com/kitmuster/kitmuster/programme/table"
)

// Roster takes a client's list of staff. The error is *Refused or *TooMany
// when the file is at fault; nothing is stored then.
func Roster(ctx context.Context, b *books.Books, code, file string, data []byte, opt Options) (*Report, error) {
	client, err := b.Client(ctx, code)
	if err != nil {
		return nil, err
	}
	r := &Report{Kind: "roster", Client: code, File: file}
	list, err := roster.Read(file, data, rosterOptions(b.Shop, client, opt))
	bad, err := rowErrors(err, list != nil)
	if err != nil {
		return nil, err
	}
	if opt.Full && list.Mended() {
		return nil, &Refused{Errors: table.Errors{{File: file,
			Want: "this file holds only the rows that were wrong in another, so it is not a full list; import it without --full"}}}
	}
	r.Notes = list.Notes
	err = b.Store.InTx(ctx, func(tx *store.Tx) error { return r.putRoster(tx, b.Shop, client, list, bad, opt) })
	if errors.Is(err, errUndo) {
		err = nil
	}
	if err != nil {
		return nil, err
	}
	return r, nil
}

// farAhead is the most days from now at which somebody may be said to start or leave.
const farAhead = 731

func rosterOptions(shop *programme.Shop, client *programme.Client, opt Options) roster.Options {
	return roster.Options{
		Options: opt.table(client, opt.AsOf.Add(farAhead)),
		Roles:   client.Roles,
		Sizes:   Charts(shop),
	}
}

// Charts returns the sizes of each size family that a person has a size in.
func Charts(shop *programme.Shop) map[string]*size.Chart {
	codes := map[string][]string{}
	for i := range shop.Garments {
		g := &shop.Garments[i]
		if g.SizeFamily == "" || g.SizeFamily == "one" {
			continue
		}
		for _, s := range g.Sizes {
			codes[g.SizeFamily] = append(codes[g.SizeFamily], s.Code)
		}
	}
	charts := make(map[string]*size.Chart, len(codes))
	for family, list := range codes {
		charts[family] = size.NewChart(list...)
	}
	return charts
}

func (r *Report) putRoster(tx *store.Tx, shop *programme.Shop, client *programme.Client, list *roster.List,
	bad table.Errors, opt Options) error {
	before, err := tx.People(r.Client)
	if err != nil {
		return err
	}
	diff, err := roster.Compare(before, list, roster.CompareOptions{AsOf: opt.AsOf, Full: opt.Full})
	doubts, err := rowErrors(err, true)
	if err != nil {
		return err
	}
	bad = append(bad, doubts...)
	if len(bad) > 0 && opt.Full { // whoever stands in a bad row would be taken for a leaver
		bad.Sort()
		return &Refused{Errors: bad}
	}
	if err := r.settle(bad, list, opt); err != nil {
		return err
	}
	r.Diff = diff
	r.Notes = append(r.Notes, doubtsOf(client, list, diff)...)
	r.Unsized = client.WithoutSizes(shop, named(before, diff), opt.AsOf)
	if words := client.UnsizedWords(r.Unsized); words != "" {
		r.Notes = append(r.Notes, words)
	}
	switch {
	case opt.DryRun:
		return errUndo
	case r.NeedsYes() && !opt.Yes:
		return tooMany(diff)
	case diff.Empty():
		return nil
	}
	r.New, r.Known, r.Stored = len(diff.Changed), diff.Unchanged, true
	if _, err := tx.AddImport(store.Import{Kind: r.Kind, Client: r.Client, File: r.File, New: r.New,
		Known: r.Known}); err != nil {
		return err
	}
	recut(shop, client, before, diff.Changed)
	return tx.PutPeople(r.Client, diff.Changed)
}

// named returns the staff after a list, without those whom it does not name.
func named(before []programme.Person, diff *roster.Diff) []programme.Person {
	after := map[string]programme.Person{}
	for _, list := range [][]programme.Person{before, diff.Changed} {
		for _, p := range list {
			after[p.StaffID] = p
		}
	}
	for i := range diff.Absent {
		delete(after, diff.Absent[i].StaffID)
	}
	return slices.SortedFunc(maps.Values(after),
		func(a, b programme.Person) int { return match.Natural(a.StaffID, b.StaffID) })
}

// doubtsOf says what a list leaves open, though nothing in it is wrong: sites that the
// programme does not know, to which no parcel finds its way, and people without a number.
func doubtsOf(client *programme.Client, list *roster.List, diff *roster.Diff) (notes []string) {
	known := func(site string) bool {
		return slices.ContainsFunc(client.Sites,
			func(x programme.Site) bool { return match.Plain(x.Name) == match.Plain(site) })
	}
	people := map[string]int{}
	for i := range diff.Changed {
		if site := diff.Changed[i].Site; len(client.Sites) > 0 && site != "" && !known(site) {
			people[site]++
		}
	}
	for _, site := range slices.Sorted(maps.Keys(people)) {
		notes = append(notes,
			fmt.Sprintf("the programme has no site %q (%s), so their parcel would have no address; its sites are %s",
				site, programme.NumberOf(people[site], "person"),
				programme.Listing(client.Sites, func(x programme.Site) string { return x.Name })))
	}
	given := 0
	for i := range list.Rows {
		if list.Rows[i].Person.StaffID == "" {
			given++
		}
	}
	if given > 0 && len(diff.Joined) > 0 {
		notes = append(notes,
			fmt.Sprintf("%s without a staff number: each is known by one made of their name and first day",
				programme.NumberOf(given, "person")))
	}
	return notes
}

// recut notes what no longer fits whom a list gives another cut.
func recut(shop *programme.Shop, client *programme.Client, before programme.Roster, changed []programme.Person) {
	for i := range changed {
		p := &changed[i]
		was, known := before.Find(p.StaffID)
		if role, ok := client.Role(p.Role); ok && known && role.HasCuts() {
			role.Recut(shop, was, p)
		}
	}
}
