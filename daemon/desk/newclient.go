package desk

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"os"
	"strings"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/notify/page"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/draft"
	"github.com/kitmuster/kitmuster/programme/setup"
)

// newClientPage shows a form with the questions of 'kitmuster init' about a client.
func (v *visit) newClientPage() error {
	p := titled("A new client")
	p.Say("From these answers a programme is drafted: what each person wears, how it is printed, and how it is washed. You change it afterwards in its file.")
	var trades, regimes []page.Choice
	for _, t := range draft.Trades() {
		trades = append(trades, page.Choice{Value: string(t), Words: string(t)})
	}
	for _, r := range v.Books.Shop.Baselines.Regimes {
		regimes = append(regimes, page.Choice{Value: r.Code, Words: r.Name})
	}
	choices := func(words ...string) (list []page.Choice) {
		for _, w := range words {
			list = append(list, page.Choice{Value: w, Words: w})
		}
		return list
	}
	p.Add(v.form("client", "/new-client", "", []page.Block{
		page.Fields{List: []*page.Field{
			{Name: "name", Label: "Name of the client", Ask: page.AskText, Needed: true},
			{Name: "contact", Label: "Who says yes there", Ask: page.AskText, Needed: true},
			{Name: "email", Label: "Their mail address", Ask: page.AskMail, Needed: true},
		}},
		page.Fields{List: []*page.Field{
			{Name: "trade", Label: "What they do", Ask: page.AskChoice, Choices: trades, Value: string(draft.Other)},
			{Name: "place", Label: "Where they work", Ask: page.AskChoice,
				Choices: []page.Choice{{Value: string(programme.Fixed), Words: "at one place"},
					{Value: string(programme.Mobile), Words: "they drive to customers"}}},
			{Name: "setting", Label: "Indoor or outdoor", Ask: page.AskChoice, Choices: choices("indoor", "outdoor")},
			{Name: "duty", Label: "How hard on clothing", Ask: page.AskChoice,
				Choices: choices("light", "medium", "heavy", "dirty"), Value: "medium"},
			{Name: "washing", Label: "How it is washed", Ask: page.AskChoice, Choices: regimes, Value: "home-low"},
			{Name: "people", Label: "How many people", Ask: page.AskNumber, Least: "1", Most: "100000", Needed: true},
			{Name: "pool", Label: "Whole kits that lie ready for starters", Ask: page.AskNumber, Least: "0",
				Most: "1000", Value: "0", Hint: "0: the costs decide"},
			{Name: "prices", Label: "Prices in their mails and order forms", Hint: "once each piece has one",
				Ask: page.AskTick, Value: "yes", Ticked: true},
		}},
	}, page.Button{Words: "Draft the programme", Main: true}))
	return v.show(p)
}

// newClient drafts a programme from the answers, writes its file, and applies it.
func (v *visit) newClient() error {
	if err := v.r.ParseForm(); err != nil {
		return v.refused(v.newClientPage, wrongf("the form could not be read"))
	}
	code := setup.CodeOf(v.r.PostForm.Get("name"))
	return v.carry(clientAddress(code), v.newClientPage, nil, func(ctx context.Context) (told, error) {
		sheet, err := v.firstAnswers()
		if err != nil {
			return told{}, err
		}
		if _, err := setup.ReadIntake("the answers", setup.WriteIntake(sheet), v.Books.Shop); err != nil {
			return told{}, err
		}
		d, err := draft.Make(v.Books.Shop, sheet)
		if err != nil {
			return told{}, err
		}
		switch applied, err := v.Books.Store.Client(ctx, code); { // its file may be gone
		case err == nil && !bytes.Equal(applied.Programme, setup.WriteDraft(d)):
			return told{}, fmt.Errorf("the client %s %w", code, books.ErrThere)
		case err != nil && !errors.Is(err, store.ErrNoClient):
			return told{}, err
		}
		path, text, err := books.WriteDraft(v.Books.Home, d, false)
		if errors.Is(err, books.ErrThere) { // the power may have gone between the file and the database
			if there, rerr := os.ReadFile(path); rerr == nil && bytes.Equal(there, text) {
				err = nil
			}
		}
		if err != nil {
			return told{}, err
		}
		err = v.Books.Store.InTx(ctx, func(tx *store.Tx) error {
			if err := tx.TakeForm(0); err != nil {
				return err
			}
			return tx.PutClient(code, text)
		})
		if err == nil && v.Reread != nil {
			err = v.Reread()
		}
		said := told{Text: "the programme of " + sheet.Name + " is drafted and applied", Notes: append([]string{
			"put your selling prices into programmes/" + code + ".yaml and the true sizes of its " +
				programme.NumberOf(len(d.Artworks), "artwork") + " into shop.yaml, then type kitmuster programme apply",
			"enter its people with Somebody starts",
		}, d.Missing...)}
		said.Notes = append(said.Notes, d.Cautions...)
		return said, err
	})
}

// firstAnswers reads the answers.
func (v *visit) firstAnswers() (*draft.Intake, error) {
	f := func(name string) string { return strings.TrimSpace(v.r.PostForm.Get(name)) }
	a := setup.FirstAnswers{
		Name: f("name"), Customer: programme.Contact{Name: f("contact")}, Trade: draft.Trade(f("trade")),
		Place: programme.Place(f("place")), Setting: programme.Setting(f("setting")),
		Duty: programme.Duty(f("duty")), Washing: f("washing"), ShowPrices: v.r.PostForm.Has("prices"),
	}
	if a.Name == "" || a.Customer.Name == "" {
		return nil, wrongf("write the name of the client, and who says yes there")
	}
	var err error
	if a.Customer.Email, err = setup.ParseEmail(f("email")); err != nil {
		return nil, err
	}
	if a.People = v.number("people", "How many people", 1, 100_000, 0); a.People == 0 {
		v.wrong("write how many people there are")
	}
	a.Pool = v.number("pool", "Whole kits", 0, 1000, 0)
	return a.Intake(), v.unread
}
