package answer

import (
	"github.com/kitmuster/kitmuster/programme/reorder"
	"github.com/kitmuster/kitmuster/programme/sheet"
)

// order marks the sheets that carry the proposal's transfers as ordered.
func (s *step) order() error {
	sheets, err := s.tx.SheetOrdersOf(s.answer.Number)
	if err != nil {
		return err
	}
	for _, o := range sheets {
		if o.State != sheet.Planned {
			continue
		}
		if err := s.tx.MoveSheetOrder(o.ID, sheet.Ordered); err != nil {
			return err
		}
		if err := s.warnOfOthers(o.Numbers, o.Kind); err != nil {
			return err
		}
	}
	return nil
}

// warnOfOthers names the proposals on the same sheets that have no yes yet.
func (s *step) warnOfOthers(numbers []int64, kind string) error {
	for _, n := range numbers {
		if n == s.answer.Number {
			continue
		}
		other, err := s.tx.Proposal(n)
		if err != nil {
			return err
		}
		if other.State.Open() {
			s.notice("The %s sheets also carry transfers of proposal %d (%s), which has no yes yet.", s.kindName(kind), n, other.Client)
		}
	}
	return nil
}

func (s *step) kindName(code string) string {
	if k, ok := s.shop.Kind(code); ok && k.Name != "" {
		return k.Name
	}
	return code
}

// dropSheets drops planned sheets of which no proposal is wanted any more.
func (s *step) dropSheets() error {
	sheets, err := s.tx.SheetOrdersOf(s.answer.Number)
	if err != nil {
		return err
	}
	for _, o := range sheets {
		wanted, err := s.anyWanted(o.Numbers)
		if err != nil {
			return err
		}
		if o.State == sheet.Planned && !wanted {
			if err := s.tx.MoveSheetOrder(o.ID, sheet.Dropped); err != nil {
				return err
			}
		}
	}
	return nil
}

func (s *step) anyWanted(numbers []int64) (bool, error) {
	for _, n := range numbers {
		if n == s.answer.Number {
			continue
		}
		other, err := s.tx.Proposal(n)
		if err != nil {
			return false, err
		}
		if other.State.Open() || other.State.Coming() || other.State == reorder.Received {
			return true, nil
		}
	}
	return false, nil
}
