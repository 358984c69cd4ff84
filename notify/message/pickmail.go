package message

import (
	"cmp"
	"fmt"
	"iter"
	"maps"
	"slices"
	"strings"

	"github.com/kitmuster/kitmuster/notify/document"
	"github.com/kitmuster/kitmuster/notify/page"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/clean"
)

// Pick is finished pieces that come off a client's shelf for people by name.
type Pick struct {
	Shop   *programme.Shop
	Client *programme.Client
	People []programme.Person
	On     programme.Date
	Number int64  // of the entry
	Why    string // starters, exchange
	Bags   []PickBag
	// Proposal is the number of the one that brings what is missing, on Arrives; 0 = none.
	Proposal int64
	Arrives  programme.Date
}

// PickBag is one person's part.
type PickBag struct {
	StaffID string
	Start   programme.Date // of somebody who starts; no date else
	Take    []programme.Lot
	Back    []programme.Lot // handed back in exchange
	Coming  []programme.Lot // in the proposal
	Waiting []programme.Lot // owed, and in no proposal yet
	Held    []programme.Lot // waits for a person's yes
	Awaited []AwaitedLot    // in a proposal that was there before
	Later   []LaterLot
	Unsized []string // what nobody can pick, and why
}

// LaterLot is the rest of a kit that is given in two parts, due on a day.
type LaterLot struct {
	programme.Lot
	On programme.Date `json:"on"`
}

// AwaitedLot is pieces that a proposal has for somebody already.
type AwaitedLot struct {
	programme.Lot
	Proposal int64 `json:"proposal"`
	// OnItsWay says that the client has said yes to it.
	OnItsWay bool `json:"on_its_way,omitempty"`
	// Unnamed says that it has them for nobody by name.
	Unnamed bool `json:"unnamed,omitempty"`
}

// ComposePick writes the pick list and the tags of the bags, as a mail to the owner.
func ComposePick(x Pick) (Mail, error) {
	t := notation{shop: x.Shop}
	subject := fmt.Sprintf("Pick list %d: %s for %s", x.Number, programme.NumberOf(x.pieces(), "piece"),
		clientName(x.Client))
	if back := x.back(); x.pieces() == 0 && back > 0 {
		subject = fmt.Sprintf("Pick list %d: %s back from %s", x.Number, programme.NumberOf(back, "piece"),
			clientName(x.Client))
	}
	m := Mail{Kind: KindPick, ID: id("pick", x.Number), To: []programme.Contact{x.Shop.Owner}, Subject: subject}
	if err := x.papers(t, &m); err != nil {
		return Mail{}, fmt.Errorf("compose pick list %d: %w", x.Number, err)
	}
	return m, m.write(x.page(t, subject))
}

func (x *Pick) pieces() (n int) {
	for i := range x.Bags {
		n += programme.PiecesOf(x.Bags[i].Take...)
	}
	return n
}

// back is the number of pieces that are handed back.
func (x *Pick) back() (n int) {
	for i := range x.Bags {
		n += programme.PiecesOf(x.Bags[i].Back...)
	}
	return n
}

// count says what is fetched and what comes back.
func (x *Pick) count(bags int) string {
	var out []string
	if n := x.pieces(); n > 0 {
		out = append(out, fmt.Sprintf("%d in %s", n, programme.NumberOf(bags, "bag")))
	}
	if n := x.back(); n > 0 {
		out = append(out, fmt.Sprintf("%d back", n))
	}
	if len(out) == 0 {
		return "none"
	}
	return strings.Join(out, ", ")
}

func (x *Pick) page(t notation, subject string) page.Page {
	p := letter(clean.Short(x.Shop.Name), subject, subject)
	for _, w := range x.cautions(t) {
		p.Add(page.Caution{Words: w})
	}
	shelf := x.shelf(t)
	if len(shelf.Rows) > 0 {
		p.Heading(2, "Fetch from the shelf")
		p.Add(shelf)
	}
	for _, b := range x.bags(t) {
		p.Heading(2, b.Name)
		if b.Under != "" {
			p.Aside("%s", b.Under)
		}
		p.List(b.Take)
		if len(b.Back) > 0 {
			p.Heading(3, "Comes back")
			p.List(b.Back)
		}
		for _, w := range b.Notes {
			p.Say("%s", w)
		}
	}
	if x.pieces() > 0 {
		p.Say("Attached: pick list (PDF), bag tags (PDF).")
	} else {
		p.Say("Attached: pick list (PDF).")
	}
	return p
}

func (x *Pick) papers(t notation, m *Mail) error {
	head := document.NewHead(x.Shop, clientName(x.Client), x.On)
	ref := fmt.Sprintf("pick list %d", x.Number)
	tags := x.tags(t)
	list := document.PickList{
		Head: head, Title: fmt.Sprintf("Pick list %d", x.Number), Shelf: x.shelf(t), Bags: x.bags(t),
		Notes: x.cautions(t), Ref: clean.Short(x.Shop.Name) + " · " + ref,
		Facts: []page.Fact{
			{Label: "Client", Value: clientName(x.Client)}, {Label: "For", Value: x.Why},
			{Label: "Pieces", Value: x.count(len(tags))}, {Label: "Packed on", Value: t.day(x.On)},
		},
	}
	if err := m.attachPDF(fmt.Sprintf("pick-%d-list", x.Number), &list); err != nil || len(tags) == 0 {
		return err
	}
	return m.attachPDF(fmt.Sprintf("pick-%d-bag-tags", x.Number),
		&document.Tags{Head: head, Sheet: x.Shop.Labels, Ref: ref, Tags: tags})
}

// shelf returns all that is fetched, equal pieces together.
func (x *Pick) shelf(t notation) page.Table {
	type alike struct {
		programme.SKU
		washes int
	}
	n := map[alike]int{}
	var order []alike
	for i := range x.Bags {
		for _, l := range x.Bags[i].Take {
			k := alike{l.SKU, l.Washes}
			if n[k] == 0 {
				order = append(order, k)
			}
			n[k] += l.Pieces
		}
	}
	slices.SortFunc(order, func(a, b alike) int { return cmp.Or(t.compare(a.SKU, b.SKU), a.washes-b.washes) })
	table := page.Table{Columns: page.Columns("#Pieces", "Garment", "Colour", "Size", "")}
	table.Columns[0].Share, table.Columns[3].Share = 0.1, 0.12
	for _, k := range order {
		table.Row(n[k], t.garment(k.Garment), clean.Short(k.Colour), t.sizeName(k.SKU), wornWords(k.washes))
	}
	return table
}

func wornWords(washes int) string {
	if washes == 0 {
		return "new"
	}
	return "worn before, " + programme.NumberOf(washes, "wash")
}

// bags returns the parts of the people, as they stand on paper.
func (x *Pick) bags(t notation) []document.PickBag {
	var out []document.PickBag
	for i := range x.Bags {
		b := &x.Bags[i]
		p := findPerson(x.People, b.StaffID)
		bag := document.PickBag{Name: personName(x.People, b.StaffID), Under: x.under(t, b, &p)}
		for _, l := range b.Take {
			words := fmt.Sprintf("%d × %s", l.Pieces, t.what(l.SKU))
			if l.Washes > 0 {
				words += " (" + wornWords(l.Washes) + ")"
			}
			bag.Take = append(bag.Take, words)
		}
		for _, l := range b.Back {
			bag.Back = append(bag.Back, fmt.Sprintf("%d × %s", l.Pieces, t.what(l.SKU)))
		}
		if words := x.nameless(t, b, &p); words != "" {
			bag.Notes = append(bag.Notes, words)
		}
		if len(b.Coming) > 0 {
			bag.Notes = append(bag.Notes,
				fmt.Sprintf("Follows with proposal %d, once the client says yes (by %s if they do soon): %s.",
					x.Proposal, t.day(x.Arrives), t.lotList(b.Coming)))
		}
		for _, l := range b.Awaited {
			of := fmt.Sprintf("proposal %d", l.Proposal)
			if l.Unnamed {
				of += ", out of its " + noName
			}
			bag.Notes = append(bag.Notes, fmt.Sprintf("Follows with %s: %s.", of, t.lotList([]programme.Lot{l.Lot})))
		}
		if len(b.Waiting) > 0 {
			bag.Notes = append(bag.Notes, "Follows, the next round proposes it: "+t.lotList(b.Waiting)+".")
		}
		if len(b.Held) > 0 {
			bag.Notes = append(bag.Notes, fmt.Sprintf("Waits for a person's yes (kitmuster held %s): %s.",
				clean.Line(x.Client.Code), t.lotList(b.Held)))
		}
		for on, lots := range laterByDay(b.Later) {
			bag.Notes = append(bag.Notes,
				fmt.Sprintf("On %s the rest of the kit follows, where the person is still there: %s.",
					t.day(on), t.lotList(lots)))
		}
		for _, u := range b.Unsized {
			bag.Notes = append(bag.Notes, "Not picked: "+clean.Short(u)+".")
		}
		out = append(out, bag)
	}
	return out
}

// nameless says which pieces off the shelf still lack the name that the kit has on
// them: what is kept for nobody carries none.
func (x *Pick) nameless(t notation, b *PickBag, p *programme.Person) string {
	var lots []programme.Lot
	code := ""
	for _, l := range b.Take {
		on, _ := x.Client.DecorationsOf(x.Shop, p, l.SKU)
		for _, d := range on {
			if _, _, ok := x.Shop.NameOn(d.Artwork); ok {
				lots, code = append(lots, l), d.Artwork
			}
		}
	}
	if len(lots) == 0 {
		return ""
	}
	_, name, _ := x.Shop.NameOn(code)
	return fmt.Sprintf("Without a name as they lie there, and the kit has “%s” on them: %s. The transfers are %s in a list for 'kitmuster sheet --need'.",
		name, t.lotList(lots), code)
}

// laterByDay goes over the rest of a kit day by day.
func laterByDay(list []LaterLot) iter.Seq2[programme.Date, []programme.Lot] {
	by := map[programme.Date][]programme.Lot{}
	for _, l := range list {
		by[l.On] = append(by[l.On], l.Lot)
	}
	return func(yield func(programme.Date, []programme.Lot) bool) {
		for _, on := range slices.Sorted(maps.Keys(by)) {
			if !yield(on, by[on]) {
				return
			}
		}
	}
}

func (t notation) lotList(list []programme.Lot) string {
	words := make([]string, len(list))
	for i, l := range list {
		words[i] = fmt.Sprintf("%d × %s", l.Pieces, t.what(l.SKU))
	}
	return strings.Join(words, "; ")
}

// under returns what stands below a name: first day, role, site, staff number.
func (x *Pick) under(t notation, b *PickBag, p *programme.Person) string {
	var parts []string
	add := func(s string) {
		if s = clean.Short(s); s != "" {
			parts = append(parts, s)
		}
	}
	if !b.Start.IsZero() {
		add("starts " + t.day(b.Start))
	}
	add(x.Client.RoleName(p.Role))
	add(p.Site)
	add("staff no. " + b.StaffID)
	return strings.Join(parts, " · ")
}

// tags returns a label for each bag that has something in it.
func (x *Pick) tags(t notation) []document.Tag {
	var out []document.Tag
	for i := range x.Bags {
		b := &x.Bags[i]
		if len(b.Take) == 0 {
			continue
		}
		p := findPerson(x.People, b.StaffID)
		tag := document.Tag{Name: personName(x.People, b.StaffID), Under: x.under(t, b, &p)}
		n := map[programme.SKU]int{}
		var order []programme.SKU
		for _, l := range b.Take {
			if n[l.SKU] == 0 {
				order = append(order, l.SKU)
			}
			n[l.SKU] += l.Pieces
		}
		for _, k := range order {
			tag.Lines = append(tag.Lines, fmt.Sprintf("%d × %s", n[k], t.what(k)))
		}
		follow := programme.PiecesOf(b.Coming...) + programme.PiecesOf(b.Waiting...)
		for _, l := range b.Awaited {
			follow += l.Pieces
		}
		if follow > 0 {
			tag.Lines = append(tag.Lines, programme.NumberOf(follow, "piece")+" to follow")
		}
		for on, lots := range laterByDay(b.Later) {
			tag.Lines = append(tag.Lines, fmt.Sprintf("%s on %s",
				programme.NumberOf(programme.PiecesOf(lots...), "piece"), t.day(on)))
		}
		out = append(out, tag)
	}
	return out
}

// cautions are for protective clothing in the bags.
func (x *Pick) cautions(t notation) []string {
	for i := range x.Bags {
		for _, l := range x.Bags[i].Take {
			if g, ok := t.shop.Garment(l.Garment); ok && g.Protective != programme.NotProtective {
				return []string{fmt.Sprintf("%s is %s: look at each piece and its label before it goes out. %s The maker's word, local codes and the client's own safety rules come first.",
					t.garment(l.Garment), protectiveWords(g.Protective), labelWords(g.LabelWashes, 0))}
			}
		}
	}
	return nil
}
