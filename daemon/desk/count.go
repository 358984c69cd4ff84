package desk

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"github.com/kitmuster/kitmuster/daemon/record"
	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/notify/page"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/match"
)

func countAddress(client string) string { return clientAddress(client) + "/count" }

// mostCounted is the number of presentable pieces of one thing that a page takes.
const mostCounted = 1000

// countRow is a row of the page of a count.
type countRow struct {
	person   *programme.Person
	sku      programme.SKU
	onRecord int
}

func (r *countRow) field() string { return "n:" + r.person.StaffID + ":" + r.sku.String() }

// counting is what there is to count at a client.
type counting struct {
	client *programme.Client
	plan   *store.CountPlan // nil = none is out
	rows   []countRow
	came   int
	mark   string
}

// counting returns the rows that a count which is out still misses or, where none is out, a row for all that
// people hold.
func (v *visit) counting() (*counting, error) {
	c, err := v.client()
	if err != nil {
		return nil, err
	}
	out := &counting{client: c}
	if out.mark, err = v.countMark(c.Code, v.Books.Store.Movements); err != nil {
		return nil, err
	}
	people, err := v.Books.Store.People(v.ctx(), c.Code)
	if err != nil {
		return nil, err
	}
	moves, err := v.Books.Store.Movements(v.ctx(), c.Code)
	if err != nil {
		return nil, err
	}
	plan, asked, err := v.countOut(c.Code)
	if err != nil {
		return nil, err
	}
	holds := map[string]map[programme.SKU]int{}
	for i := range people {
		p := &people[i]
		if !p.ActiveOn(v.today) {
			continue
		}
		if holds[p.StaffID], err = record.Held(v.Books.Shop, c, people, moves, p.StaffID, v.today); err != nil {
			return nil, err
		}
		if asked {
			continue
		}
		for k, n := range holds[p.StaffID] {
			out.rows = append(out.rows, countRow{p, k, n})
		}
	}
	if asked {
		out.plan = &plan
		missing := plan.Missing(moves, v.today)
		out.came = len(plan.Asks.Rows) - len(missing)
		for _, ask := range missing {
			if p, ok := programme.Roster(people).Find(ask.StaffID); ok && holds[ask.StaffID] != nil {
				out.rows = append(out.rows, countRow{p, ask.SKU, holds[ask.StaffID][ask.SKU]})
			}
		}
	}
	slices.SortStableFunc(out.rows, func(a, b countRow) int {
		return cmp.Or(cmp.Compare(match.Plain(a.person.Site), match.Plain(b.person.Site)),
			cmp.Compare(match.Bare(a.person.Name), match.Bare(b.person.Name)),
			match.Natural(a.person.StaffID, b.person.StaffID), a.sku.Compare(b.sku))
	})
	return out, nil
}

// countOut returns the count of a client whose forms are out and that is not stopped.
func (v *visit) countOut(client string) (store.CountPlan, bool, error) {
	plan, ok, err := v.Books.Store.LastCountPlan(v.ctx(), client, v.today)
	if err != nil || !ok || plan.Dropped {
		return plan, false, err
	}
	sent, err := v.Books.Store.LastCountForm(v.ctx(), client, v.today)
	return plan, err == nil && sent >= plan.Announced, err
}

// countMark returns a fingerprint of the client's ledger: its number of rows.
func (v *visit) countMark(client string,
	moves func(context.Context, string) ([]programme.Movement, error)) (string, error) {
	list, err := moves(v.ctx(), client)
	return strconv.Itoa(len(list)), err
}

// countPage shows a form for the numbers of a count that came on paper or by telephone.
func (v *visit) countPage() error {
	c, err := v.counting()
	if err != nil {
		return err
	}
	p := titled("A count at " + c.client.Name)
	p.Add(page.Paragraph{Words: page.Leading(c.client.Name, clientAddress(c.client.Code))})
	switch {
	case c.plan == nil:
		p.Say("No count form is out. Here is all that people hold by the records; fill in what was counted.")
	case len(c.rows) == 0:
		p.Say("Every row of the count form is here.")
	default:
		p.Say("The count form is out, back by %s: %d of %s came. These are the rows that are missing.",
			v.date(c.plan.ReturnBy), c.came, programme.NumberOf(len(c.plan.Asks.Rows), "row"))
	}
	if len(c.rows) > 0 {
		p.Say("Write the number of presentable pieces. 0: nothing is left. A row left empty is not counted, and the number on record stands.")
		t := page.Table{Columns: page.Columns("Who", "Garment", "#On record", "#Presentable")}
		for i := range c.rows {
			r := &c.rows[i]
			who := nameOf(r.person)
			if r.person.Site != "" {
				who += ", " + r.person.Site
			}
			t.Row(who, v.what(r.sku), r.onRecord, page.Asking(&page.Field{
				Name: r.field(), Label: "Presentable of " + v.what(r.sku) + " with " + nameOf(r.person), Bare: true,
				Ask: page.AskNumber, Least: "0", Most: strconv.Itoa(mostCounted),
			}))
		}
		p.Add(v.form("count", countAddress(c.client.Code), c.mark,
			[]page.Block{page.Fields{List: []*page.Field{v.dayField("Counted on")}}, t},
			page.Button{Words: "Enter the count", Main: true}))
	}
	p.Say("Something that nobody wrote down, or that is not listed: the page of its wearer takes a count of any garment.")
	if err := v.addEntries(&p, c.client.Code); err != nil {
		return err
	}
	return v.show(p)
}

// count enters the numbers of the form; rows left empty are not counted.
func (v *visit) count() error {
	c, err := v.client()
	if err != nil {
		return err
	}
	seen := func(tx *store.Tx) (string, error) {
		return v.countMark(c.Code,
			func(_ context.Context, code string) ([]programme.Movement, error) { return tx.Movements(code) })
	}
	return v.carry(countAddress(c.Code), v.countPage, seen, func(ctx context.Context) (told, error) {
		on := v.past("Counted on")
		var list []record.Count
		for name := range v.r.PostForm {
			staff, thing, ok := cutRow(name)
			if !ok || strings.TrimSpace(v.r.PostForm.Get(name)) == "" {
				continue
			}
			row := record.Count{StaffID: staff, Pieces: v.number(name, "Presentable", 0, mostCounted, 0)}
			row.Garment, row.Colour, row.Size = programme.SplitSKU(thing)
			list = append(list, row)
		}
		slices.SortFunc(list,
			func(a, b record.Count) int { return cmp.Or(cmp.Compare(a.StaffID, b.StaffID), a.Compare(b.SKU)) })
		return entered(record.EnterCounts(ctx, v.Books, c.Code, on, list))
	})
}

// cutRow reads the name of a field of a count: the garment stands behind the last colon.
func cutRow(name string) (staff, thing string, ok bool) {
	rest, ok := strings.CutPrefix(name, "n:")
	i := strings.LastIndexByte(rest, ':')
	if !ok || i < 0 {
		return "", "", false
	}
	return rest[:i], rest[i+1:], true
}

// addCount asks how many presentable pieces of a thing the person has: of what they hold, and of any
// other garment of the shop in a size of theirs, which nobody may have written down.
func (v *visit) addCount(p *page.Page, w *wearer) {
	var list []page.Choice
	seen := map[programme.SKU]bool{}
	add := func(k programme.SKU) {
		if g, ok := v.Books.Shop.Garment(k.Garment); ok && k.Size != "" && !seen[k] {
			if _, made := g.Size(k.Size); made {
				seen[k] = true
				list = append(list, page.Choice{Value: k.String(), Words: v.what(k)})
			}
		}
	}
	keys, _ := w.lots()
	for _, k := range keys {
		add(k)
	}
	for i := range w.client.Roles {
		for _, l := range w.client.Roles[i].Kit {
			if g, ok := v.Books.Shop.Garment(l.Garment); ok {
				add(programme.SKU{Garment: l.Garment, Colour: l.Colour, Size: g.SizeOf(w.Person)})
			}
		}
	}
	if len(list) == 0 {
		return
	}
	p.Heading(2, "A count")
	p.Add(v.form("count", w.address()+"/count", w.seen, []page.Block{
		page.Fields{List: []*page.Field{
			{Name: "what", Label: "What", Ask: page.AskChoice, Choices: list},
			{Name: "pieces", Label: "Presentable pieces", Ask: page.AskNumber, Least: "0",
				Most: strconv.Itoa(mostCounted), Needed: true},
			v.dayField("Counted on"),
		}},
		page.Paragraph{Words: page.Quiet("What is missing is taken to have ended since the last entry; what is more than was written down counts from now on.")},
	}, page.Button{Words: "Enter the count", Main: true}))
}

// counted enters a count of one person's garment.
func (v *visit) counted() error {
	return v.enter(func(ctx context.Context, client, staff string) (told, error) {
		c := record.Count{StaffID: staff, Pieces: v.number("pieces", "Presentable pieces", 0, mostCounted, -1)}
		if c.Pieces < 0 {
			v.wrong("Presentable pieces: write how many there are; 0 is a count too")
		}
		c.Garment, c.Colour, c.Size = programme.SplitSKU(v.r.PostForm.Get("what"))
		return entered(record.EnterCounts(ctx, v.Books, client, v.past("Counted on"), []record.Count{c}))
	})
}

// addCounts lists the counts whose forms are out.
func (v *visit) addCounts(p *page.Page) error {
	clients, err := v.Books.Store.Clients(v.ctx())
	if err != nil {
		return err
	}
	headed := false
	for _, row := range clients {
		plan, asked, err := v.countOut(row.Code)
		if err != nil {
			return err
		}
		if !asked {
			continue
		}
		moves, err := v.Books.Store.Movements(v.ctx(), row.Code)
		if err != nil {
			return err
		}
		came := plan.Came(moves, v.today)
		if plan.Back(came) {
			continue
		}
		if !headed {
			p.Heading(2, "Counts")
			headed = true
		}
		words := fmt.Sprintf("The count form is to be back by %s: %d of %s came.", v.date(plan.ReturnBy), came,
			programme.NumberOf(len(plan.Asks.Rows), "row"))
		if plan.ReturnBy < v.today {
			words = fmt.Sprintf("The count form was to be back by %s: %d of %s came. Ask for the rest.",
				v.date(plan.ReturnBy), came, programme.NumberOf(len(plan.Asks.Rows), "row"))
		}
		p.Add(task(v.Books.ClientName(v.ctx(), row.Code), words, "Enter what was counted", countAddress(row.Code)))
	}
	return nil
}
