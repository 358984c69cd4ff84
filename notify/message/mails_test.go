package message_test

import (
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/notify/message"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/goldentest"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

func aReorder() message.Reorder {
	shop := aShop()
	return message.Reorder{Shop: shop, Client: bakery(), Proposal: bakeryProposal(), People: bakers()}
}

// aSecondForm is the reorder a fortnight after its first form, unanswered.
func aSecondForm() message.Reorder {
	r := aReorder()
	before := bakeryProposal()
	before.AsOf, before.OrderBy, before.Arrives = before.AsOf-14, before.OrderBy-14, before.Arrives-14
	before.Lines[0].Order -= 3
	before.Price -= 4200
	r.Before, r.Differs = before, reorder.Noticeable(before, r.Proposal)
	r.Proposal.Continue(before)
	return r
}

func aCount() message.CountForm {
	c := message.CountForm{Shop: aShop(), Client: bakery(), AsOf: monday, ReturnBy: monday.Add(11)}
	for i, p := range bakers() {
		size := []string{"M", "L", "S", "M", "2XL", "L", "M", "M", "L", "M", "M"}[i]
		c.Rows = append(c.Rows,
			message.CountRow{Person: p, SKU: programme.SKU{Garment: "apron", Colour: "black", Size: "one"},
				OnRecord: 2},
			message.CountRow{Person: p, SKU: programme.SKU{Garment: "tee", Colour: "black", Size: size}, OnRecord: 5})
	}
	return c
}

func aDaySheet() message.DaySheet {
	c := bakery()
	c.ByMail.DaySheets = []string{"nell@copperhearth.example"}
	holds := map[string]map[programme.SKU]int{}
	people := bakers()
	for i := range people {
		holds[people[i].StaffID] = map[programme.SKU]int{{Garment: "apron", Colour: "black", Size: "one"}: 1 + i%3}
	}
	return message.DaySheet{Shop: aShop(), Client: c, Week: monday,
		Rows:     message.DayRows(aShop(), c, people, holds, monday),
		ReturnTo: message.ReturnTo{Address: "answers@millbrook.example", Mark: "d3.20260309.abcdefghij234567"},
		RosterTo: message.ReturnTo{Address: "answers@millbrook.example", Mark: "r3.20260309.abcdefghij234567"}}
}

func aSupplierOrder() message.SupplierOrder {
	o := message.SupplierOrder{Shop: aShop(), Supplier: "cloth", Number: 9, AsOf: monday, NeededBy: monday.Add(7)}
	o.Shop.Suppliers[0].Account, o.Shop.Terms.Address = "MB-2207", "4 Mill Lane, Millbrook"
	o.Shop.Items = map[programme.SKU]programme.Item{}
	for i, l := range bakeryProposal().Lines {
		if l.Buy > 0 {
			o.Shop.Items[l.SKU] = programme.Item{SKU: l.SKU, Number: fmt.Sprintf("HC-%d", 400+i), GTIN: "6291041500213"}
			o.Blanks = append(o.Blanks, message.BlankLine{SKU: l.SKU, Pieces: l.Buy, UnitCost: l.UnitCost})
		}
	}
	return o
}

func aSheetOrder() message.SupplierOrder {
	return message.SupplierOrder{Shop: aShop(), Supplier: "prints", Number: 9, AsOf: monday, NeededBy: monday.Add(8),
		Sheets: []message.SheetToOrder{badges()}}
}

func aJob() message.Job {
	shop := aShop()
	return message.Job{Shop: shop, Client: bakery(), Proposal: bakeryProposal(), People: bakers(),
		Lines: badges().Lines}
}

func quietRound() message.Round {
	return message.Round{Shop: aShop(), Number: 10, AsOf: monday.Add(7), Clients: 6,
		Next: []message.NextDue{{Client: "Lantern Books", On: monday.Add(21)}}}
}

// unansweredRound has a form that stands, one that went out anew, and noes.
func unansweredRound() message.Round {
	r := aRound()
	r.Sheets, r.Troubles, r.Taken, r.Learnt = nil, nil, nil, nil
	r.Due[0].Now, r.Due[0].Stands = gardenProposal(), true
	was := r.Due[0].Proposal
	was.AsOf, was.Asked, was.Revision, was.OrderBy, was.Arrives = was.AsOf-14, monday-21, 2, was.OrderBy-14,
		was.Arrives-14
	r.Due[1].Proposal = aSecondForm().Proposal
	part := bakeryProposal()
	part.Number, part.State = 11, reorder.PartReceived
	_, err := part.Deliver([]reorder.Delivery{{SKU: part.Lines[1].SKU, Came: 10, Back: 3, BackOn: monday.Add(42)}})
	if err != nil {
		panic(err)
	}
	r.Waiting = []message.Waiting{{Client: bakery(), Proposal: part}}
	no, later := gardenProposal(), gardenProposal()
	no.Number, no.State, no.Because, no.Until = 12, reorder.Declined, "new logo in autumn", monday.Add(180)
	open := gardenProposal()
	open.Number, open.State, open.Because = 13, reorder.Declined, ""
	later.Number, later.State, later.Until = 14, reorder.PutOff, monday.Add(63)
	r.Refused = []message.Refused{
		{Client: bakery(), Proposal: no, Until: no.Until}, {Client: garden(), Proposal: open, Until: monday.Add(56),
			More: true}, {Client: garden(), Proposal: later, Until: later.Until},
	}
	return r
}

// mails is one of each kind, by the name of its golden files.
func mails(t *testing.T) map[string]message.Mail {
	t.Helper()
	out := map[string]message.Mail{}
	add := func(name string, m message.Mail, err error) {
		require.NoError(t, err, name)
		out[name] = m
	}
	m, err := message.ComposeRound(aRound())
	add("round", m, err)
	m, err = message.ComposeRound(quietRound())
	add("round-quiet", m, err)
	m, err = message.ComposeReorder(aReorder())
	add("reorder", m, err)
	m, err = message.ComposeDaySheet(aDaySheet())
	add("day-sheet", m, err)
	m, err = message.ComposeReorder(aSecondForm())
	add("reorder-form-2", m, err)
	m, err = message.ComposeRound(unansweredRound())
	add("round-unanswered", m, err)
	m, err = message.ComposeCount(aCount())
	add("count", m, err)
	m, err = message.ComposeSupplierOrder(aSupplierOrder())
	add("supplier-blanks", m, err)
	m, err = message.ComposeSupplierOrder(aSheetOrder())
	add("supplier-sheets", m, err)
	m, err = message.ComposeJob(aJob())
	add("job", m, err)
	m, err = message.ComposePick(aPick())
	add("pick", m, err)
	return out
}

func TestEveryMailIsAsItsGoldenFiles(t *testing.T) {
	for name, m := range mails(t) {
		goldentest.Equal(t, name+".txt", []byte("Subject: "+m.Subject+"\n\n"+m.Text))
		goldentest.Equal(t, name+".html", []byte(m.HTML))
		for _, p := range m.Attachments {
			if p.Type == "text/csv" || p.Type == "text/calendar" {
				goldentest.Equal(t, name+"."+p.Name, p.Data)
			}
		}
		look(t, name, m)
	}
}

// look writes what people receive to a folder, to be looked at.
func look(t *testing.T, name string, m message.Mail) {
	t.Helper()
	dir := os.Getenv("KITMUSTER_LOOK")
	if dir == "" {
		return
	}
	require.NoError(t, os.WriteFile(filepath.Join(dir, name+".html"), []byte(m.Preview()), 0o600))
	for _, p := range m.Attachments {
		require.NoError(t, os.WriteFile(filepath.Join(dir, p.Name), p.Data, 0o600))
	}
}
