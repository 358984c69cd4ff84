package answer

import (
	"cmp"
	"errors"
	"fmt"
	"slices"

	"github.com/kitmuster/kitmuster/daemon/hint"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

// change sets other numbers. Goods that are set aside already are put back
// first and taken anew, and the press gets new papers.
func (s *step) change() error {
	if len(s.answer.Changes)+len(s.answer.List) == 0 {
		return errors.New("nothing is changed")
	}
	yes := s.out.From == reorder.Accepted
	if err := s.shelfBack(); err != nil {
		return err
	}
	if err := s.applyChanges(); err != nil {
		return err
	}
	if s.out.Proposal.Pieces() == 0 {
		return errors.New("nothing would be left of the order; a no is recorded with decline")
	}
	if !yes {
		return nil
	}
	if err := errors.Join(s.setAllAside(), s.dropDrafts()); err != nil {
		return err
	}
	return s.sendJob()
}

// applyChanges sets the numbers that were asked for and says who goes without.
func (s *step) applyChanges() error {
	p := &s.out.Proposal
	var without []reorder.Without
	if len(s.answer.List) > 0 {
		var err error
		if without, err = p.Relist(s.shop, s.client, s.answer.List); err != nil {
			return err
		}
	}
	more, err := p.Change(s.shop, s.client, s.answer.Changes)
	if err != nil {
		return err
	}
	without = append(without, more...)
	if len(without) == 0 {
		return nil
	}
	people, err := s.tx.People(p.Client)
	if err != nil {
		return err
	}
	names := map[string]string{}
	for i := range people {
		names[people[i].StaffID] = people[i].Name
	}
	slices.SortStableFunc(without, func(a, b reorder.Without) int { return cmp.Compare(a.By, b.By) })
	for i := range without[:min(len(without), mostWithout)] {
		s.notice("%s", s.goesWithout(&without[i], names[without[i].StaffID]))
	}
	rest := 0
	for i := mostWithout; i < len(without); i++ {
		rest += without[i].Pieces
	}
	if rest > 0 {
		s.notice("Others go without %s, later than these.", programme.NumberOf(rest, "piece"))
	}
	return nil
}

// mostWithout is the greatest number of people named who go without, the soonest first.
const mostWithout = 5

func (s *step) goesWithout(w *reorder.Without, name string) string {
	who := w.StaffID
	if name != "" {
		who = name
	}
	text := fmt.Sprintf("%s goes without %d × %s", who, w.Pieces, s.name(w.SKU))
	if w.By.IsZero() {
		return text + ", and is short of it today."
	}
	return text + fmt.Sprintf("; the old ones probably last until about %s.", s.date(w.By))
}

// late works out the dates and prices of a yes that comes after its day anew, prices
// of any yes by its day, and lets another proposal of the client that waits for an answer lapse: what
// this one brings, the next round counts.
func (s *step) late() error {
	p := &s.out.Proposal
	was := p.Price
	if arrives := p.ArrivesAfter(s.answer.Day, s.shop.Closed); arrives != p.Arrives {
		s.notice("The yes came after %s, so the pieces arrive by %s instead of %s.",
			s.date(p.OrderBy), s.date(arrives), s.date(p.Arrives))
		p.Arrives, s.out.Anew = arrives, true
		if p.PriceAnew(s.client); was != p.Price {
			s.notice("Prices have changed since: %s instead of %s.", s.money(p.Price), s.money(was))
		}
	} else if from := p.NewPrice(s.client, s.answer.Day); !from.IsZero() {
		if p.PriceAnew(s.client); was != p.Price {
			s.out.Anew = true
			s.notice("From %s on other prices hold, by the day of the yes: %s instead of %s.", s.date(from),
				s.money(p.Price), s.money(was))
		}
	}
	if s.out.From != reorder.Lapsed && s.out.From != reorder.Declined {
		return nil
	}
	if err := s.warnOfComing(); err != nil {
		return err
	}
	open, err := s.tx.Proposals(p.Client, reorder.Unsettled()...)
	if err != nil {
		return err
	}
	for i := range open {
		if open[i].Number == p.Number {
			continue
		}
		lapse := Answer{Number: open[i].Number, Event: reorder.Lapse, Day: max(s.answer.Day, open[i].Since()),
			Note: fmt.Sprintf("replaced by the late yes to proposal %d", p.Number)}
		if _, err := Record(s.tx, s.shop, s.client, lapse, s.entry, s.journal); err != nil {
			return err
		}
		s.notice("Proposal %d, which waited for an answer, is replaced by this yes.", open[i].Number)
	}
	return nil
}

// warnOfComing tells of pieces of the same lines that are on their way by another
// yes: whoever says yes to an old proposal may not know.
func (s *step) warnOfComing() error {
	p := &s.out.Proposal
	coming, err := s.tx.Proposals(p.Client, reorder.OnItsWay()...)
	if err != nil {
		return err
	}
	for i := range coming {
		same := 0
		for j := range coming[i].Lines {
			if l := &coming[i].Lines[j]; p.Line(l.SKU) != nil {
				same += l.Outstanding()
			}
		}
		if coming[i].Number != p.Number && same > 0 {
			s.out.Anew = true
			s.notice("Proposal %d is on its way with %d pieces of the same garments and sizes: see whether these are wanted besides.",
				coming[i].Number, same)
		}
	}
	return nil
}

// olderForm gives the proposal the pieces of the form that the yes was said to,
// for the people that it named; day and prices are worked out anew.
func (s *step) olderForm() error {
	p, n := &s.out.Proposal, s.answer.Form
	if n == 0 || n == p.Form() {
		return nil
	}
	form, err := s.tx.Form(p.Number, n)
	if err != nil {
		return err
	}
	if _, err := p.Relist(s.shop, s.client, form.List()); err != nil {
		return err
	}
	s.notice("The yes is to form %d of %s; pieces and people are those of that form.", n, s.date(form.AsOf))
	if p.Arrives != form.Arrives {
		s.out.Anew = true
		s.notice("It promised them by %s; they arrive by %s.", s.date(form.Arrives), s.date(p.Arrives))
	}
	if p.Price != form.Price {
		s.out.Anew = true
		s.notice("It came to %s; by the prices of now it comes to %s.", s.money(form.Price), s.money(p.Price))
	}
	return nil
}

// wait puts a proposal off; of one that was accepted, the goods go back.
func (s *step) wait() error {
	p := &s.out.Proposal
	if s.answer.Until <= s.answer.Day {
		return fmt.Errorf("it is put off until %s, which is not after %s; name the day on which to ask again",
			s.date(s.answer.Until), s.date(s.answer.Day))
	}
	p.Until, p.Answered = s.answer.Until, s.answer.Day
	return errors.Join(s.shelfBack(), s.dropDrafts())
}

// remake notes pieces that must be printed again; of those that had come
// already, the spoilt ones leave the client's shelf.
func (s *step) remake() error {
	if len(s.answer.Again) == 0 {
		return errors.New("say which pieces must be made again")
	}
	p := &s.out.Proposal
	for _, c := range s.answer.Again {
		came := s.answer.Came || p.Line(c.SKU) != nil && p.Line(c.SKU).Outstanding() == 0
		if err := p.Again(c.SKU, c.Pieces, came); err != nil {
			return err
		}
		if !came {
			continue
		}
		taken, err := s.tx.TakeStock(programme.FinishedGoods(p.Client, c.SKU), c.Pieces)
		if err != nil {
			return err
		}
		if taken < c.Pieces {
			return fmt.Errorf("%d of the %d lie on the client's shelf; those handed to people are ended one by one %w",
				taken, c.Pieces, hint.Text{Command: "with 'kitmuster end'", Desk: "on the pages of the people"})
		}
	}
	return nil
}
