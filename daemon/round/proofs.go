package round

import (
	"github.com/kitmuster/kitmuster/notify/message"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/sheet"
)

// proofsOf draws the sheets of an order at true scale, with its list.
func proofsOf(*programme.Shop, programme.Date, *sheet.Order, []sheet.Line) ([]message.Part, error) {
	return nil, nil
}
