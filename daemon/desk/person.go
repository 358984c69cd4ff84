package desk

import (
	"cmp"
	"context"
	"fmt"
	"maps"
	"math"
	"net/url"
	"slices"
	"strconv"

	"github.com/kitmuster/kitmuster/daemon/hint"
	"github.com/kitmuster/kitmuster/daemon/record"
	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/notify/page"
	"github.com/kitmuster/kitmuster/programme"
)

func personAddress(client, staff string) string {
	return clientAddress(client) + "/person/" + url.PathEscape(staff)
}

// wearer is the person that an address names, with their records.
type wearer struct {
	*programme.Person
	client *programme.Client
	moves  []programme.Movement
	pieces []programme.Piece // in hand, the most worn first
	seen   string
}

func (w *wearer) address() string { return personAddress(w.client.Code, w.StaffID) }

func (v *visit) wearer() (*wearer, error) {
	c, err := v.client()
	if err != nil {
		return nil, err
	}
	people, err := v.Books.Store.People(v.ctx(), c.Code)
	if err != nil {
		return nil, err
	}
	p, known := programme.Roster(people).Find(v.r.PathValue("staff"))
	if !known {
		return nil, errMissing
	}
	w := &wearer{Person: p, client: c}
	// The mark comes first: what changes in between makes the page stale, not wrong.
	if w.seen, err = v.Books.Store.PersonMark(v.ctx(), c.Code, p.StaffID); err != nil {
		return nil, err
	}
	if w.moves, err = v.Books.Store.MovementsOf(v.ctx(), c.Code, p.StaffID); err != nil {
		return nil, err
	}
	on := v.today
	if !p.End.IsZero() {
		on = min(on, p.End)
	}
	w.pieces, err = record.InHand(v.Books.Shop, c, []programme.Person{*p}, w.moves, p.StaffID, on)
	slices.SortStableFunc(w.pieces, func(a, b programme.Piece) int { return cmp.Compare(b.Washes, a.Washes) })
	return w, err
}

// personMark returns the fingerprint of the person that the address names.
func (v *visit) personMark(tx *store.Tx) (string, error) {
	return tx.PersonMark(v.r.PathValue("client"), v.r.PathValue("staff"))
}

func (v *visit) personPage() error {
	w, err := v.wearer()
	if err != nil {
		return err
	}
	p := titled(nameOf(w.Person))
	p.Add(page.Paragraph{Words: page.Leading(w.client.Name, clientAddress(w.client.Code))})
	facts := []page.Fact{
		{Label: "Staff number", Value: w.StaffID}, {Label: "Role", Value: w.client.RoleName(w.Role)},
		{Label: "Since", Value: v.date(w.Start)}, {Label: "Sizes", Value: sizesOf(w.Person)},
	}
	if w.Site != "" {
		facts = append(facts, page.Fact{Label: "Site", Value: w.Site})
	}
	if !w.End.IsZero() {
		facts = append(facts, page.Fact{Label: "Last day", Value: v.date(w.End)})
	}
	for _, s := range w.Spells {
		if s.Until.IsZero() || s.Until >= v.today {
			facts = append(facts, page.Fact{Label: "Away or part-time", Value: v.spellWords(s)})
		}
	}
	p.Add(page.Facts{Pairs: facts})
	gone := !w.End.IsZero() && w.End < v.today
	v.addHeld(&p, w)
	if !gone {
		v.addCount(&p, w)
		v.addIssue(&p, w)
		v.addSize(&p, w)
		v.addChange(&p, w)
	}
	v.addLeave(&p, w, gone)
	if !gone {
		v.addAway(&p, w)
	}
	v.addMoves(&p, w)
	if err := v.addEntries(&p, w.client.Code); err != nil {
		return err
	}
	return v.show(p)
}

func (v *visit) spellWords(s programme.Spell) string {
	until := "until further notice"
	if !s.Until.IsZero() {
		until = "until " + v.date(s.Until)
	}
	if s.Away() {
		return fmt.Sprintf("away from %s %s", v.date(s.From), until)
	}
	return fmt.Sprintf("%.0f %% of the usual from %s %s", 100*s.Share, v.date(s.From), until)
}

// lots groups the pieces in hand by garment, colour and size, each group the most worn first.
func (w *wearer) lots() (keys []programme.SKU, by map[programme.SKU][]programme.Piece) {
	by = map[programme.SKU][]programme.Piece{}
	for _, x := range w.pieces {
		by[x.SKU] = append(by[x.SKU], x)
	}
	return slices.SortedFunc(maps.Keys(by), programme.SKU.Compare), by
}

// ending is a button beside what somebody holds.
type ending struct {
	reason programme.Reason
	words  string
}

var endings = []ending{
	{programme.Worn, "Worn out"}, {programme.Print, "Print gone"}, {programme.Damaged, "Torn or stained"},
	{programme.Lost, "Lost"},
}

// addHeld lists what the person holds, each garment with the buttons that end a piece.
func (v *visit) addHeld(p *page.Page, w *wearer) {
	p.Heading(2, "What they hold")
	keys, by := w.lots()
	if len(keys) == 0 {
		p.Say("Nothing that was entered.")
	}
	for i, k := range keys {
		list := by[k]
		oldest := &list[0]
		words := fmt.Sprintf("Handed out %s, washed about %s", v.date(oldest.Issued),
			programme.NumberOf(int(math.Round(oldest.Washes)), "time"))
		if oldest.Assumed || !oldest.Since.IsZero() {
			words += "; both are only assumed"
		}
		if len(list) > 1 {
			words = "The most worn: h" + words[1:]
		}
		var buttons []page.Button
		for _, e := range endings {
			buttons = append(buttons, page.Button{Words: e.words, Name: "reason", Value: string(e.reason),
				About: v.what(k)})
		}
		form := v.form(fmt.Sprintf("end-%d", i), w.address()+"/end", w.seen,
			[]page.Block{page.Fields{List: []*page.Field{
				{Name: "pieces", Label: "Pieces", Ask: page.AskNumber, Value: "1", Least: "1",
					Most: strconv.Itoa(len(list)), Needed: true},
				v.dayField("On"),
			}}}, buttons...)
		form.Hidden = append(form.Hidden, page.Hidden{Name: "what", Value: k.String()})
		p.Add(page.Card{Level: 3, Title: page.Plain(fmt.Sprintf("%d × %s", len(list), v.what(k))),
			Body: []page.Block{page.Paragraph{Words: page.Quiet(words + ".")}, form}})
	}
}

// enter carries out a form on the page of a person.
func (v *visit) enter(do func(ctx context.Context, client, staff string) (told, error)) error {
	client, staff := v.r.PathValue("client"), v.r.PathValue("staff")
	return v.carry(personAddress(client, staff), v.personPage, v.personMark, func(ctx context.Context) (told, error) {
		return do(ctx, client, staff)
	})
}

// options returns the options of an entry about people and their kits.
func (v *visit) options(client string) record.Options {
	return record.Options{Client: client, On: v.today, From: v.From, Now: v.Now().In(v.Books.Zone())}
}

// end enters pieces that came to their end.
func (v *visit) end() error {
	return v.enter(func(ctx context.Context, client, staff string) (told, error) {
		m := record.Move{
			Client: client, Person: staff, Kind: programme.Ended, Pieces: v.number("pieces", "Pieces", 1, 1000, 1),
			On:     v.past("On"),
			Reason: programme.Reason(v.r.PostForm.Get("reason")),
		}
		m.Garment, m.Colour, m.Size = programme.SplitSKU(v.r.PostForm.Get("what"))
		if !slices.ContainsFunc(endings, func(e ending) bool { return e.reason == m.Reason }) {
			v.wrong("press the button that says what became of the piece")
		}
		return entered(record.Enter(ctx, v.Books, m))
	})
}

// addIssue adds a form that hands out pieces of the person's kit.
func (v *visit) addIssue(p *page.Page, w *wearer) {
	role, ok := w.client.Role(w.Role)
	if !ok || len(role.Kit) == 0 {
		return
	}
	var list []page.Choice
	kit := role.For(v.Books.Shop, w.Person).Kit
	for i := range kit {
		l := &kit[i]
		if !l.InForce(v.today) {
			continue
		}
		g, ok := v.Books.Shop.Garment(l.Garment)
		if !ok {
			continue
		}
		k := programme.SKU{Garment: l.Garment, Colour: l.Colour, Size: g.SizeOf(w.Person)}
		list = append(list, page.Choice{Value: k.String(), Words: v.what(k)})
	}
	if len(list) == 0 {
		return
	}
	p.Heading(2, "Hand something out")
	p.Add(v.form("issue", w.address()+"/issue", w.seen, []page.Block{page.Fields{List: []*page.Field{
		{Name: "what", Label: "What", Ask: page.AskChoice, Choices: list},
		{Name: "pieces", Label: "Pieces", Ask: page.AskNumber, Value: "1", Least: "1", Most: "100", Needed: true},
		v.dayField("On"),
		{Name: "kept", Label: "The old pieces stay in use", Hint: "else what is beyond the kit counts as thrown out",
			Ask: page.AskTick, Value: "yes", Ticked: w.client.OldPiecesKept},
		{Name: "shelf", Label: "They come from the shelf", Hint: "as far as finished pieces of this client lie there",
			Ask: page.AskTick, Value: "yes", Ticked: true},
	}}}, page.Button{Words: "Handed out", Main: true}))
}

func (v *visit) issue() error {
	return v.enter(func(ctx context.Context, client, staff string) (told, error) {
		m := record.Move{
			Client: client, Person: staff, Kind: programme.Issued, Pieces: v.number("pieces", "Pieces", 1, 100, 1),
			On:      v.past("On"),
			OldKept: v.r.PostForm.Has("kept"), FromShelf: v.r.PostForm.Has("shelf"),
		}
		m.Garment, m.Colour, m.Size = programme.SplitSKU(v.r.PostForm.Get("what"))
		return entered(record.Enter(ctx, v.Books, m))
	})
}

// addSize asks for other sizes of the person.
func (v *visit) addSize(p *page.Page, w *wearer) {
	names, choices := v.families(w.client.Roles, w.Sizes)
	if len(names) == 0 {
		return
	}
	var fields []*page.Field
	for _, family := range names {
		f := &page.Field{Name: "size-" + family, Label: "Size, " + family, Ask: page.AskChoice,
			Choices: choices[family], Value: w.Sizes[family], Hint: v.cutHint(w.client.Roles, family)}
		if f.Hint != "" && f.Value != "" {
			f.Choices = append(f.Choices, page.Choice{Value: programme.NoSize, Words: "none: wears the other cut"})
		}
		fields = append(fields, f)
	}
	p.Heading(2, "Another size")
	p.Add(v.form("size", w.address()+"/size", w.seen, []page.Block{
		page.Fields{List: fields},
		page.Fields{List: []*page.Field{{Name: "propose", Label: "Propose at once what the shelf does not have",
			Hint: "else the next round does", Ask: page.AskTick, Value: "yes"}}},
		page.Paragraph{Words: page.Quiet("Exchange hands out what lies on the shelf in the new size and takes as much of the old back.")},
	}, page.Button{Words: "Exchange", Name: "do", Value: "exchange"}, page.Button{Words: "What they hold still fits",
		Name: "do", Value: "fits"}))
}

func (v *visit) size() error {
	return v.enter(func(ctx context.Context, client, staff string) (told, error) {
		w, err := v.wearer()
		if err != nil {
			return told{}, err
		}
		sizes := map[string]string{}
		names, _ := v.families(w.client.Roles, w.Sizes)
		for _, family := range names {
			if s := v.r.PostForm.Get("size-" + family); s != "" && s != w.Sizes[family] {
				sizes[family] = s
			}
		}
		if v.r.PostForm.Get("do") == "fits" {
			if len(sizes) == 0 {
				v.wrong("choose the new size first")
			}
			return entered(record.Alter(ctx, v.Books, record.Alteration{Client: client, Person: staff, Sizes: sizes,
				HeldFits: true}))
		}
		return v.kept(record.Swap(ctx, v.Books, record.Exchange{Options: v.options(client), Person: staff, Sizes: sizes,
			Propose: v.r.PostForm.Has("propose")}))
	})
}

// outcome tells what an entry about people and their kits came to, with the pieces to pick.
func (v *visit) outcome(out *record.Outcome) told {
	said := told{Text: out.Text, Notes: hint.OfDesk(out.Notes)}
	for i := range out.Kits {
		k := &out.Kits[i]
		who := cmp.Or(k.Name, k.StaffID)
		for _, part := range []struct {
			words string
			lots  []programme.Lot
		}{
			{"take from the shelf for " + who, k.Picked}, {"proposed for " + who, k.Proposed},
			{"the next round proposes for " + who, k.Waiting},
			{"waits for a person's yes, for " + who, k.Held}, {"back on the shelf from " + who, k.Shelved},
			{"out of use, from " + who, k.Spent}, {"worn on for now by " + who, k.Kept},
		} {
			if len(part.lots) > 0 {
				said.Notes = append(said.Notes, part.words+": "+v.lotWords(part.lots))
			}
		}
		for _, l := range k.Later {
			said.Notes = append(said.Notes, fmt.Sprintf("on %s %s gets %d × %s", v.date(l.On), who, l.Pieces,
				v.what(l.SKU)))
		}
	}
	if p := out.Proposal; p != nil && p.Number > 0 {
		said.Notes = append(said.Notes, fmt.Sprintf("proposal %d is written, %s: its mail goes to the client", p.Number,
			programme.NumberOf(p.Pieces(), "piece")))
	}
	if len(out.Papers) > 0 {
		said.Notes = append(said.Notes, "a pick list and bag tags are in the mail to you")
	}
	return said
}

func (v *visit) lotWords(list []programme.Lot) string {
	return programme.Listing(list, func(l programme.Lot) string { return l.Words(v.what(l.SKU)) })
}

// addChange asks for another role, site or name on garments.
func (v *visit) addChange(p *page.Page, w *wearer) {
	p.Heading(2, "Another role, site or name on garments")
	p.Add(v.form("change", w.address()+"/change", w.seen, []page.Block{page.Fields{List: []*page.Field{
		{Name: "role", Label: "Role", Ask: page.AskChoice, Choices: roleChoices(w.client), Value: w.Role},
		{Name: "site", Label: "Site", Ask: page.AskText, Value: w.Site, Hint: "empty: it stays"},
		{Name: "print", Label: "Name on garments", Ask: page.AskText, Value: w.PrintName,
			Hint: "where names are printed; empty: it stays"},
	}}}, page.Button{Words: "Enter the change", Main: true}))
}

func roleChoices(c *programme.Client) (list []page.Choice) {
	for i := range c.Roles {
		list = append(list, page.Choice{Value: c.Roles[i].Code, Words: c.RoleName(c.Roles[i].Code)})
	}
	return list
}

func (v *visit) change() error {
	return v.enter(func(ctx context.Context, client, staff string) (told, error) {
		f := v.r.PostForm
		return entered(record.Alter(ctx, v.Books, record.Alteration{Client: client, Person: staff, Role: f.Get("role"),
			Site: f.Get("site"), PrintName: f.Get("print")}))
	})
}

// addLeave adds a form for the last day and for the pieces that came back.
func (v *visit) addLeave(p *page.Page, w *wearer, gone bool) {
	keys, by := w.lots()
	title, last := "They leave", v.today
	if !w.End.IsZero() {
		title, last = "They leave on "+v.date(w.End), w.End
	}
	if gone {
		title = "They left on " + v.date(w.End)
	}
	p.Heading(2, title)
	body := []page.Block{page.Fields{List: []*page.Field{{Name: "last", Label: "Last day", Ask: page.AskDay,
		Value: last.String(), Needed: true}}}}
	buttons := []page.Button{{Words: "Enter the last day", Name: "do", Value: "leave"}}
	if !w.End.IsZero() {
		buttons = append(buttons, page.Button{Words: "They stay after all", Name: "do", Value: "stay"})
	}
	if len(keys) > 0 {
		t := page.Table{Title: "What comes back", Columns: page.Columns("Garment", "#Held", "#Came back")}
		for _, k := range keys {
			n := strconv.Itoa(len(by[k]))
			t.Row(v.what(k), n, page.Asking(&page.Field{Name: "back-" + k.String(), Label: "Came back of " + v.what(k),
				Bare: true, Ask: page.AskNumber, Value: n, Least: "0", Most: n}))
		}
		body = append(body, t)
		buttons = append(buttons, page.Button{Words: "This came back", Name: "do", Value: "back"})
	}
	p.Add(v.form("leave", w.address()+"/leave", w.seen, body, buttons...))
}

func (v *visit) leave() error {
	return v.enter(func(ctx context.Context, client, staff string) (told, error) {
		do := v.r.PostForm.Get("do")
		if do == "stay" {
			return entered(record.Alter(ctx, v.Books, record.Alteration{Client: client, Person: staff, Stays: true}))
		}
		last := v.day("last", "Last day", v.today)
		if do != "back" {
			return entered(record.Alter(ctx, v.Books, record.Alteration{Client: client, Person: staff, LastDay: last}))
		}
		w, err := v.wearer()
		if err != nil {
			return told{}, err
		}
		back := record.Return{Options: v.options(client), Person: staff, LastDay: last}
		keys, by := w.lots()
		for _, k := range keys {
			n := v.number("back-"+k.String(), v.what(k), 0, len(by[k]), 0)
			back.Pieces = append(back.Pieces, record.Handed{Garment: k.Garment, Colour: k.Colour,
				Size: k.Size, Pieces: n})
		}
		return v.kept(record.Back(ctx, v.Books, back))
	})
}

// addAway asks for a time in which the person wears less, or nothing.
func (v *visit) addAway(p *page.Page, w *wearer) {
	p.Heading(2, "Away for a time, or part-time")
	p.Add(v.form("away", w.address()+"/away", w.seen, []page.Block{page.Fields{List: []*page.Field{
		{Name: "from", Label: "First day", Ask: page.AskDay, Value: v.today.String(), Needed: true},
		{Name: "until", Label: "Last day", Ask: page.AskDay, Hint: "empty: until further notice"},
		{Name: "wears", Label: "Days worn in a week", Ask: page.AskNumber, Least: "0", Most: "14",
			Hint: "empty: away, nothing is worn"},
	}}}, page.Button{Words: "Enter it", Name: "do", Value: "away"},
		page.Button{Words: "As usual from the first day on", Name: "do", Value: "usual"}))
}

func (v *visit) away() error {
	return v.enter(func(ctx context.Context, client, staff string) (told, error) {
		a := record.Absence{
			Options: v.options(client), Person: staff, Usual: v.r.PostForm.Get("do") == "usual",
			From: v.day("from", "First day", v.today), Until: v.day("until", "Last day", 0),
			WearsAWeek: float64(v.number("wears", "Days worn in a week", 0, 14, 0)),
		}
		out, err := record.Away(ctx, v.Books, a)
		return entered(out.Done, err)
	})
}

// mostMoves is the number of movements that a person's page lists.
const mostMoves = 20

// addMoves lists what happened last.
func (v *visit) addMoves(p *page.Page, w *wearer) {
	if len(w.moves) == 0 {
		return
	}
	list := slices.Clone(w.moves)
	slices.SortStableFunc(list, func(a, b programme.Movement) int { return cmp.Compare(b.Date, a.Date) })
	p.Heading(2, "So far")
	t := page.Table{Columns: page.Columns("Day", "What", "#Pieces", "Garment", "Why")}
	for i := range list[:min(len(list), mostMoves)] {
		m := &list[i]
		why := ""
		if m.Kind == programme.Ended {
			why = m.Reason.Words()
		}
		t.Row(v.date(m.Date), m.Kind, m.Pieces, v.what(m.SKU), why)
	}
	p.Add(t)
}
