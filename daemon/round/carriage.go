package round

import (
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/reorder"
	"github.com/kitmuster/kitmuster/programme/sheet"
)

// shareOf returns a client's part of what all sheets cost.
func shareOf(plan *sheet.Plan, client string) programme.Money {
	var sum programme.Money
	for i := range plan.Shares {
		if plan.Shares[i].Client == client {
			sum += plan.Shares[i].Cost.Total()
		}
	}
	return sum
}

// carriage is one printer's charge for bringing the sheets of a round.
type carriage struct {
	printer *programme.Supplier
	value   programme.Money            // of all sheets
	by      map[string]programme.Money // by client
}

// carriages returns what the printers that charge for carriage ask, in the shop's order.
// Sheets of a printer that also sends blanks of the same round come with them.
func carriages(shop *programme.Shop, plan *sheet.Plan, list []*reorder.Proposal) []carriage {
	var out []carriage
	for i := range shop.Suppliers {
		c := carriage{printer: &shop.Suppliers[i], by: map[string]programme.Money{}}
		for j := range plan.Orders {
			if o := &plan.Orders[j]; o.Printer == c.printer.Code {
				c.value += o.Cost.Total()
				for _, s := range o.Shares {
					c.by[s.Client] += s.Cost.Total()
				}
			}
		}
		free := c.printer.FreeFreightFrom > 0 && c.value >= c.printer.FreeFreightFrom
		if c.value > 0 && c.printer.Freight > 0 && !free && !sends(list, c.printer.Code) {
			out = append(out, c)
		}
	}
	return out
}

// sends reports whether blanks of the proposals come from the supplier.
func sends(list []*reorder.Proposal, supplier string) bool {
	for _, p := range list {
		for _, s := range p.Suppliers {
			if s.Supplier == supplier {
				return true
			}
		}
	}
	return false
}

// carried returns what all printers ask for together.
func carried(shop *programme.Shop, plan *sheet.Plan, list []*reorder.Proposal) programme.Money {
	var sum programme.Money
	for _, c := range carriages(shop, plan, list) {
		sum += c.printer.Freight
	}
	return sum
}

// carry adds the printers' freight to the proposals, each by its part of the
// sheets. Running sums are rounded, so that the parts add up to the cent.
func carry(shop *programme.Shop, plan *sheet.Plan, list []*reorder.Proposal) {
	for _, c := range carriages(shop, plan, list) {
		var upTo, given programme.Money
		for _, p := range list {
			part := c.by[p.Client]
			if part == 0 {
				continue
			}
			upTo += part
			freight := c.printer.Freight.Times(float64(upTo)/float64(c.value)) - given
			given += freight
			p.Freight += freight
			p.Suppliers = append(p.Suppliers, reorder.SupplierOrder{
				Supplier: c.printer.Code, Value: part, Freight: freight,
				ToFreeFreight: max(0, c.printer.FreeFreightFrom-c.value),
			})
		}
	}
}
