package desk

import (
	"context"
	"fmt"
	"strconv"
	"strings"

	"github.com/kitmuster/kitmuster/daemon/record"
	"github.com/kitmuster/kitmuster/notify/page"
)

// A starter's form has room for some people; mostStarters is the most that it can be given.
const (
	someStarters = 3
	mostStarters = 30
)

// rows returns for how many people the form has room.
func (v *visit) rows() int {
	n, err := strconv.Atoi(v.r.FormValue("rows"))
	if err != nil {
		return someStarters
	}
	return min(max(n, 1), mostStarters)
}

func (v *visit) startPage() error {
	c, err := v.client()
	if err != nil {
		return err
	}
	p := titled("Somebody starts at " + c.Name)
	p.Say("Each is put on the roster, gets what lies on the client's shelf for the kit, and what is missing is proposed. Somebody who is on the roster already, by name or number, gets what the kit still lacks.")
	roles := roleChoices(c)
	families, sizes := v.families(c.Roles, nil)
	var body []page.Block
	rows := v.rows()
	for i := range rows {
		name := func(s string) string { return fmt.Sprintf("%s-%d", s, i) }
		first := &page.Field{Name: name("name"), Label: "Name", Ask: page.AskText}
		if i == 0 {
			first.Value = v.r.URL.Query().Get("name")
		}
		fields := []*page.Field{
			first,
			{Name: name("role"), Label: "Role", Ask: page.AskChoice, Choices: roles},
			{Name: name("start"), Label: "First day", Ask: page.AskDay, Value: v.today.String()},
			{Name: name("number"), Label: "Staff number", Ask: page.AskText, Hint: "empty: one is made"},
		}
		for _, f := range families {
			fields = append(fields, &page.Field{Name: name("size-" + f), Label: "Size, " + f, Ask: page.AskChoice,
				Choices: sizes[f], Hint: v.cutHint(c.Roles, f)})
		}
		body = append(body, page.Card{Level: 2, Title: page.Plain(fmt.Sprintf("Person %d", i+1)),
			Body: []page.Block{page.Fields{List: fields}}})
	}
	body = append(body, page.Fields{List: []*page.Field{{Name: "wait", Label: "Propose nothing now",
		Hint: "the next round proposes what the shelf lacks", Ask: page.AskTick, Value: "yes"}}})
	form := v.form("start", clientAddress(c.Code)+"/start", "", body, page.Button{Words: "They start", Main: true})
	form.Hidden = append(form.Hidden, page.Hidden{Name: "rows", Value: strconv.Itoa(rows)})
	p.Add(form)
	p.Add(page.Form{Action: clientAddress(c.Code) + "/start", Get: true,
		Body: []page.Block{page.Fields{List: []*page.Field{
			{Name: "rows", Label: "Room for so many people", Ask: page.AskNumber,
				Value: strconv.Itoa(min(2*rows, mostStarters)), Least: "1", Most: strconv.Itoa(mostStarters)},
		}}}, Buttons: []page.Button{{Words: "Make room"}}})
	return v.show(p)
}

// start enters all people who are named as one entry.
func (v *visit) start() error {
	c, err := v.client()
	if err != nil {
		return err
	}
	return v.carry(clientAddress(c.Code), v.startPage, nil, func(ctx context.Context) (told, error) {
		s := record.Starters{Options: v.options(c.Code), Wait: v.r.PostForm.Has("wait")}
		families, _ := v.families(c.Roles, nil)
		for i := range v.rows() {
			get := func(name string) string {
				return strings.TrimSpace(v.r.PostForm.Get(fmt.Sprintf("%s-%d", name, i)))
			}
			one := record.Starter{Client: c.Code, Name: get("name"), Role: get("role"), StaffID: get("number"),
				Sizes: map[string]string{}}
			if one.Name == "" {
				continue
			}
			one.Start = v.day(fmt.Sprintf("start-%d", i), "First day of "+one.Name, v.today)
			for _, f := range families {
				if size := get("size-" + f); size != "" {
					one.Sizes[f] = size
				}
			}
			s.People = append(s.People, one)
		}
		if len(s.People) == 0 {
			v.wrong("write the name of one person at least")
		}
		return v.kept(record.Start(ctx, v.Books, s))
	})
}

// kept writes the papers of an outcome into the folder of jobs and tells of it.
func (v *visit) kept(out record.Outcome, err error) (told, error) {
	if err != nil {
		return told{}, err
	}
	said := v.outcome(&out)
	if _, err := out.WritePapers(v.Books); err != nil {
		said.Notes = append(said.Notes,
			"the pick list could not be written into the folder jobs; it is in the mail to you")
	}
	return said, nil
}
