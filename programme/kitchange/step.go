package kitchange

import (
	"fmt"
	"strings"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/demand"
)

// Step says how far one line of the kits has taken the place of another.
type Step struct {
	Former, Next programme.Former
	From         programme.Date
	Change       programme.Change
	// Held pieces of the former are with people who go over to the next.
	Held, People int
	// Shelf are finished pieces of the former on the shelf and on their way, Blanks
	// undecorated ones, which may be used for other clients too.
	Shelf, Blanks int
}

// Steps lists the changes that a client's kits state, in the order of the kits; equal
// ones of several roles are one. Stock is all of the shop's.
func Steps(in *demand.Input, stock []programme.StockLine) []Step {
	type key struct {
		former, next programme.Former
		from         programme.Date
		change       programme.Change
	}
	at := map[key]int{}
	var out []Step
	who := map[int]map[string]bool{}
	roster := programme.Roster(in.Staff)
	for i := range in.Client.Roles {
		role := &in.Client.Roles[i]
		for j := range role.Kit {
			l := &role.Kit[j]
			if l.InsteadOf == (programme.Former{}) {
				continue
			}
			k := key{l.InsteadOf, l.Former(), l.From, l.Change}
			n, seen := at[k]
			if !seen {
				n = len(out)
				at[k], who[n] = n, map[string]bool{}
				s := Step{Former: l.InsteadOf, Next: l.Former(), From: l.From, Change: l.Change}
				s.count(in.Client.Code, stock)
				out = append(out, s)
			}
			for p := range in.History.InService {
				piece := &in.History.InService[p]
				if roster.Role(piece.StaffID) == role.Code && piece.SKU.Garment == l.InsteadOf.Garment &&
					piece.SKU.Colour == l.InsteadOf.Colour {
					out[n].Held++
					who[n][piece.StaffID] = true
					out[n].People = len(who[n])
				}
			}
		}
	}
	return out
}

func (s *Step) count(client string, stock []programme.StockLine) {
	for goods, p := range programme.Positions(stock, 0) {
		switch {
		case goods.Code != s.Former.Garment || goods.Colour != s.Former.Colour:
		case goods.Kind == programme.Finished && goods.Client == client:
			s.Shelf += p.Together()
		case goods.Kind == programme.Blank:
			s.Blanks += p.Together()
		}
	}
}

// Done reports that nothing is left of the former for anybody to wear or to use up.
func (s *Step) Done(asOf programme.Date) bool {
	return s.From <= asOf && s.Held == 0 && (s.Change != programme.RunOut || s.Shelf+s.Blanks == 0)
}

// Words says it for the owner: Apron, burgundy → Apron, black from 1 Mar 2027: 41
// burgundy are worn on; 12 burgundy lie on the shelf and go out first.
func (s *Step) Words(shop *programme.Shop, asOf programme.Date) string {
	since := "from"
	if s.From <= asOf {
		since = "since"
	}
	old := s.Former.Colour
	if s.Former.Garment != s.Next.Garment || old == "" {
		old = name(shop, s.Former.Garment, s.Former.Colour)
	}
	head := fmt.Sprintf("%s → %s %s %s: ", name(shop, s.Former.Garment, s.Former.Colour),
		name(shop, s.Next.Garment, s.Next.Colour), since, shop.DateStyle.Date(s.From))
	if s.Done(asOf) {
		return head + fmt.Sprintf("no %s is left.", old)
	}
	if s.Change == programme.OnTheDay {
		return head + fmt.Sprintf("all on that day; %s of %s come back.", programme.NumberOf(s.Held, old+" piece"),
			programme.NumberOf(s.People, "person"))
	}
	parts := []string{fmt.Sprintf("%d %s are worn on", s.Held, old)}
	switch lie := s.lying(old); {
	case lie == "":
	case s.Change == programme.RunOut:
		parts = append(parts, lie+" and go out first")
	default:
		parts = append(parts, lie+" and stay there (change: run-out would use them first)")
	}
	return head + strings.Join(parts, "; ") + "."
}

// lying says what of the former lies on the shelf.
func (s *Step) lying(old string) string {
	switch {
	case s.Shelf > 0 && s.Blanks > 0:
		return fmt.Sprintf("%d %s and %d blanks of it lie on the shelf", s.Shelf, old, s.Blanks)
	case s.Shelf > 0:
		return fmt.Sprintf("%d %s lie on the shelf", s.Shelf, old)
	case s.Blanks > 0:
		return fmt.Sprintf("%s of %s lie on the shelf", programme.NumberOf(s.Blanks, "blank"), old)
	}
	return ""
}
