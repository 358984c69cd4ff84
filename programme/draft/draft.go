package draft

import (
	"fmt"
	"slices"
	"strings"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/choose"
)

// Draft is a first proposal with its reasons.
type Draft struct {
	Client programme.Client
	// Artworks are the images the kits refer to, and those that are only printed where a
	// sheet that is paid anyway has room; they must enter the catalogue.
	Artworks []programme.Artwork
	Garments []Pick
	Printing []string
	Washing  []string
	Cautions []string
	// Missing lists what the catalogue lacks for this client.
	Missing []string
	// Heads are the roles with a kit, and what each costs.
	Heads []Head
}

// Pick says why a garment is in a kit, with the options weighed against it.
type Pick struct {
	What    string
	Garment string
	Why     string
	Options []choose.Option
}

// Head is the cost to the shop of one person of a role.
type Head struct {
	Role   string
	People int
	Outfit programme.Money // first issue
	AYear  programme.Money // replacements in the long run, leavers included
}

// maker gathers a draft.
type maker struct {
	shop      programme.Shop
	in        *Intake
	out       *Draft
	polyester bool
}

// Make drafts a programme from an intake sheet and the shop's catalogue. It
// fails where the catalogue has nothing to put into any kit.
func Make(shop *programme.Shop, in *Intake) (*Draft, error) {
	if len(shop.Kinds) == 0 {
		return nil, fmt.Errorf("shop.yaml has no transfer kind; add one before drafting programmes")
	}
	d := &maker{shop: *shop, in: in, out: &Draft{Client: in.client()}}
	d.shop.Artworks = slices.Clone(shop.Artworks)
	for i := range in.Roles {
		if err := d.role(in.Roles[i]); err != nil {
			return nil, err
		}
	}
	if len(d.out.Client.Roles) == 0 {
		return nil, fmt.Errorf("the catalogue has none of what this client needs: %s",
			strings.Join(d.out.Missing, "; "))
	}
	d.out.Printing = append(in.printing(shop.Units), d.extras()...)
	d.out.Washing = in.washing()
	d.out.Cautions = d.cautions()
	return d.out, nil
}

// client returns the programme without its roles.
func (in *Intake) client() programme.Client {
	c := programme.Client{
		Code: in.Code, Name: in.Name, Trade: string(in.Trade), Customer: in.Customer, Manager: in.Manager,
		Work: in.Work, Laundering: in.Laundering,
		ForgetAfterDays: 180, CountEveryWeeks: 26, ShowPrices: in.ShowPrices,
		Pool: in.Pool,
	}
	c.Work.Food = c.Work.Food || in.Trade == Food
	c.Leavers = programme.Leavers{PerYear: in.LeaversPerYear, Strength: 10}
	if c.Leavers.PerYear == 0 {
		c.Leavers.PerYear = in.Trade.leavers()
	}
	c.Intake = programme.Intake{PerYear: in.HiresPerYear, Strength: 1}
	if c.Intake.PerYear == 0 { // as many join as leave
		c.Intake.PerYear = float64(int(c.Leavers.PerYear*float64(in.Staff())*10+0.5)) / 10
	}
	if busy := in.Trade.busy(); len(busy) > 0 {
		for i := range c.Intake.Months {
			c.Intake.Months[i] = 1
		}
		for _, m := range busy {
			c.Intake.Months[m-1] = 2
		}
	}
	return c
}

func (d *maker) role(r Role) error {
	role := programme.Role{Code: r.Code, Name: r.Name}
	if role.Name == "" {
		role.Name = r.Code
	}
	head := Head{Role: role.Name, People: r.People}
	for _, it := range d.in.items(r) {
		line, pick, err := d.choose(r, &it)
		if err != nil {
			return err
		}
		if line == nil {
			continue
		}
		role.Kit = append(role.Kit, *line)
		d.out.Garments = append(d.out.Garments, *pick)
		o := &pick.Options[0]
		head.Outfit += o.Cost * programme.Money(line.Each)
		head.AYear += o.ShopCostAMonth * 12
	}
	if len(role.Kit) > 0 {
		d.out.Client.Roles = append(d.out.Client.Roles, role)
		d.out.Heads = append(d.out.Heads, head)
	}
	return nil
}
