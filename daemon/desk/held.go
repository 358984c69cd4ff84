package desk

import (
	"cmp"
	"context"
	"fmt"
	"strconv"
	"strings"

	"github.com/kitmuster/kitmuster/daemon/record"
	"github.com/kitmuster/kitmuster/daemon/round"
	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/notify/page"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

// heldCaution stands above every answer about protective clothing.
const heldCaution = "Protective clothing is never ordered by the program. Look at the garments and their labels, ask the maker in writing before anything is pressed on them, and follow local codes and the client's own safety rules. Only somebody who may decide about it says yes."

func heldAddress(client string) string { return clientAddress(client) + "/held" }

// holds returns the protective clothing that waits for a yes today, and the answers given before.
func (v *visit) holds(c *programme.Client) (waits []reorder.Hold, said []store.HeldAnswer, err error) {
	list, err := round.Held(v.ctx(), v.Books, v.today, c.Code)
	for i := range list {
		waits, said = append(waits, list[i].Holds...), append(said, list[i].Said...)
	}
	return waits, said, err
}

// heldPage asks about the protective clothing of one client.
func (v *visit) heldPage() error {
	c, err := v.client()
	if err != nil {
		return err
	}
	waits, said, err := v.holds(c)
	if err != nil {
		return err
	}
	people, err := v.Books.Store.People(v.ctx(), c.Code)
	if err != nil {
		return err
	}
	p := titled("Protective clothing for " + c.Name)
	p.Add(page.Paragraph{Words: page.Leading(c.Name, clientAddress(c.Code))}, page.Caution{Words: heldCaution})
	if len(waits) == 0 {
		p.Say("Nothing waits for a person's yes.")
	} else {
		t := page.Table{Columns: page.Columns("Garment", "For", "Its label allows", "#Pieces")}
		for i := range waits {
			h := &waits[i]
			label := "look at it"
			if h.LabelWashes > 0 {
				label = fmt.Sprintf("%.0f washes", h.LabelWashes)
			}
			if spent := h.LabelSpent(); len(spent) > 0 {
				label += "; pieces worn by " + wearersOf(spent, people) + " have had them all"
			}
			t.Row(v.what(h.SKU), cmp.Or(wearersOf(h.Wearers(), people), "nobody yet"), label, page.Asking(&page.Field{
				Name: "n:" + h.String(), Label: "Pieces of " + v.what(h.SKU), Bare: true, Ask: page.AskNumber,
				Value: strconv.Itoa(h.Pieces), Least: "0", Most: "10000",
			}))
		}
		p.Add(v.form("held", heldAddress(c.Code), heldSeen(said), []page.Block{t, page.Fields{List: []*page.Field{
			{Name: "looked", Label: "Garments and labels were looked at", Hint: "needed for a yes", Ask: page.AskTick,
				Value: "yes"},
		}}}, page.Button{Words: "Yes, order these", Name: "do", Value: "yes", Main: true},
			page.Button{Words: "No to all of it", Name: "do", Value: "no", Grave: true}))
	}
	var before []string
	for _, s := range said {
		before = append(before, fmt.Sprintf("%s: %s to %d × %s", v.date(s.On), programme.YesNo(s.Yes), s.Pieces,
			v.what(s.SKU)))
	}
	if len(before) > 0 {
		p.Heading(2, "Said before")
		p.List(before)
	}
	if err := v.addEntries(&p, c.Code); err != nil {
		return err
	}
	return v.show(p)
}

// wearersOf names people by their staff numbers.
func wearersOf(wearers []string, people []programme.Person) string {
	var names []string
	for _, id := range wearers {
		name := id
		for j := range people {
			if people[j].StaffID == id {
				name = cmp.Or(people[j].Name, id)
			}
		}
		names = append(names, name)
	}
	return strings.Join(names, ", ")
}

// heldSeen returns a fingerprint of the answers.
func heldSeen(said []store.HeldAnswer) string {
	var words []string
	for _, s := range said {
		words = append(words, fmt.Sprint(s.SKU, s.Yes, s.Pieces, s.On))
	}
	return strings.Join(words, ";")
}

// answerHeld carries out a yes or no about protective clothing.
func (v *visit) answerHeld() error {
	c, err := v.client()
	if err != nil {
		return err
	}
	seen := func(tx *store.Tx) (string, error) {
		said, err := tx.HeldAnswers(c.Code)
		return heldSeen(said), err
	}
	return v.carry(heldAddress(c.Code), v.heldPage, seen, func(ctx context.Context) (told, error) {
		waits, _, err := v.holds(c)
		if err != nil {
			return told{}, err
		}
		a := record.HeldAnswer{Options: v.options(c.Code), Yes: v.r.PostForm.Get("do") == "yes", Holds: waits}
		if a.Yes {
			if !v.r.PostForm.Has("looked") {
				v.wrong("look at the garments and their labels first, and tick that it was done")
			}
			a.Lines = v.heldLines(waits)
		}
		return v.kept(record.AnswerHeld(ctx, v.Books, a))
	})
}

// heldLines reads the pieces of each line that the yes is to.
func (v *visit) heldLines(waits []reorder.Hold) (list []record.Handed) {
	sum := 0
	for i := range waits {
		h := &waits[i]
		n := v.number("n:"+h.String(), v.what(h.SKU), 0, 10000, h.Pieces)
		sum += n
		list = append(list, record.Handed{Garment: h.Garment, Colour: h.Colour, Size: h.Size, Pieces: n})
	}
	if sum == 0 {
		v.wrong("write how many pieces, or say no")
	}
	return list
}
