package record

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"slices"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/programme"
)

// Absence is a time in which a person wears less than the kit says, or nothing.
type Absence struct {
	Options
	Person string
	// From is the first day, Until the last; no Until = until further notice.
	From, Until programme.Date
	// WearsAWeek is the number of days a week on which the kit is worn in that time; 0 = the person is away.
	WearsAWeek float64
	// Usual ends it: from From on the kit is worn as the programme says.
	Usual bool
}

// Away enters an absence, part-time wear, or the return to the usual.
func Away(ctx context.Context, b *books.Books, a Absence) (Outcome, error) {
	return carry(ctx, b, a.Options, func(m *move) error { return m.away(&a) })
}

func (m *move) away(a *Absence) error {
	p, err := FindPerson(m.people, a.Person)
	if err != nil {
		return err
	}
	switch {
	case !p.End.IsZero() && p.End < a.From:
		return fmt.Errorf("%s left on %s", who(p), m.day(p.End))
	case !a.Until.IsZero() && a.Until < a.From:
		return fmt.Errorf("the last day, %s, is before the first, %s", m.day(a.Until), m.day(a.From))
	}
	share, err := m.share(a)
	if err != nil {
		return err
	}
	after := *p
	after.Spells = overlaid(p.Spells, programme.Spell{From: a.From, Until: a.Until, Share: share})
	if slices.Equal(p.Spells, after.Spells) {
		return fmt.Errorf("that is how %s is entered already", who(p))
	}
	what := m.spellWords(a, share)
	m.done.Text, m.about = who(p)+" "+what, p.StaffID+" "+what
	m.out.Kits = []Kit{{StaffID: p.StaffID, Name: p.Name}}
	return m.put(p, &after)
}

// share returns the part of what the kit says that is worn: wears a week by the days a
// week on which the client works.
func (m *move) share(a *Absence) (float64, error) {
	usual := cmp.Or(m.client.Work.DaysPerWeek, 5)
	switch {
	case a.Usual:
		return 1, nil
	case a.WearsAWeek < 0:
		return 0, errors.New("less than nothing cannot be worn")
	case a.WearsAWeek > 2*usual:
		return 0, fmt.Errorf("%g wears a week are more than twice the %g days that %s works; see days_per_week in the programme",
			a.WearsAWeek, usual, m.client.Name)
	}
	return a.WearsAWeek / usual, nil
}

func (m *move) spellWords(a *Absence, share float64) string {
	until := "until further notice"
	if !a.Until.IsZero() {
		until = "until " + m.day(a.Until)
	}
	switch {
	case a.Usual:
		return fmt.Sprintf("wears the kit as usual from %s %s", m.day(a.From), until)
	case share == 0:
		return fmt.Sprintf("is away from %s %s", m.day(a.From), until)
	}
	return fmt.Sprintf("wears the kit %g times a week, %.0f %% of the usual, from %s %s", a.WearsAWeek, 100*share,
		m.day(a.From), until)
}

// overlaid puts a spell over those there: what it covers of them it replaces. Where
// it is as usual it only takes away.
func overlaid(spells []programme.Spell, s programme.Spell) []programme.Spell {
	var out []programme.Spell
	for _, old := range spells {
		if old.From < s.From {
			before := old
			if before.Until.IsZero() || before.Until >= s.From {
				before.Until = s.From - 1
			}
			out = append(out, before)
		}
		if !s.Until.IsZero() && (old.Until.IsZero() || old.Until > s.Until) {
			old.From = max(old.From, s.Until+1)
			out = append(out, old)
		}
	}
	if s.Share != 1 {
		out = append(out, s)
	}
	slices.SortFunc(out, func(a, b programme.Spell) int { return cmp.Compare(a.From, b.From) })
	return out
}
