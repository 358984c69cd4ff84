package answer

import (
	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/daemon/supply"
	"github.com/kitmuster/kitmuster/programme/reorder"
	"github.com/kitmuster/kitmuster/programme/sheet"
)

// order marks as sent what was written to suppliers for the proposal. Where
// nothing was, the sheets of a round are ordered only if everybody on them said
// yes; else, and where there are none, they are laid out for this proposal alone.
func (s *step) order() error {
	orders, err := supply.OrdersOf(s.tx, s.answer.Number, store.OrderWritten, store.OrderOrdered)
	if err != nil {
		return err
	}
	for i := range orders {
		if orders[i].State == store.OrderWritten {
			if err := s.sent(&orders[i]); err != nil {
				return err
			}
			s.warnOfOthers(&orders[i])
		}
	}
	if len(orders) > 0 {
		return nil
	}
	return s.orderSheets()
}

// orderSheets orders the planned sheets of a proposal without a written order.
func (s *step) orderSheets() error {
	sheets, err := s.tx.SheetOrdersOf(s.answer.Number)
	if err != nil {
		return err
	}
	var planned []store.SheetOrder
	for _, o := range sheets {
		shared, err := s.otherOf(o.Numbers, withoutYes)
		switch {
		case err != nil:
			return err
		case o.State != sheet.Planned:
		case shared != 0:
			s.notice("The round's sheets also carried transfers of proposal %d, which has no yes.", shared)
			return s.orderAlone()
		default:
			planned = append(planned, o)
		}
	}
	for _, o := range planned {
		if err := s.tx.MoveSheetOrder(o.ID, sheet.Ordered); err != nil {
			return err
		}
	}
	return nil
}

// otherOf returns the first of the numbered proposals, this one left out, whose state is as asked; 0 = none.
func (s *step) otherOf(numbers []int64, is func(reorder.State) bool) (int64, error) {
	for _, n := range numbers {
		if n == s.answer.Number {
			continue
		}
		other, err := s.tx.Proposal(n)
		if err != nil {
			return 0, err
		}
		if is(other.State) {
			return n, nil
		}
	}
	return 0, nil
}

func withoutYes(s reorder.State) bool { return !s.Coming() && s != reorder.Received }

// wanted reports whether what was planned for a proposal may still be needed.
func wanted(s reorder.State) bool { return s.Open() || !withoutYes(s) }

// orderAlone lays out sheets for this proposal and nobody else.
func (s *step) orderAlone() error {
	p := &s.out.Proposal
	if err := s.tx.UnlinkSheets(p.Number); err != nil {
		return err
	}
	job, err := supply.Read(s.tx, s.client, p)
	if err != nil {
		return err
	}
	sheets, cost, err := supply.Alone(s.shop, s.answer.Day, job)
	if err != nil {
		return err
	}
	round, err := s.tx.RoundOf(p.Number)
	if err != nil {
		return err
	}
	for _, o := range sheets {
		o.RoundID, o.State = round, sheet.Ordered
		if _, err := s.tx.AddSheetOrder(o); err != nil {
			return err
		}
	}
	s.notice("They are laid out for this proposal alone, for %s; %s writes the orders with proofs before anything is ordered.",
		s.money(cost), pageOrders)
	return nil
}

// dropSheets drops sheets of which no proposal is wanted any more.
func (s *step) dropSheets() error {
	sheets, err := s.tx.SheetOrdersOf(s.answer.Number)
	if err != nil {
		return err
	}
	for _, o := range sheets {
		other, err := s.otherOf(o.Numbers, wanted)
		if err != nil {
			return err
		}
		back := s.answer.Event == reorder.Cancel && o.State == sheet.Ordered
		if (o.State == sheet.Planned || back) && other == 0 {
			if err := s.tx.MoveSheetOrder(o.ID, sheet.Dropped); err != nil {
				return err
			}
		}
	}
	return nil
}
