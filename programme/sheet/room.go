package sheet

import (
	"cmp"
	"math"
	"slices"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/sheet/pack"
)

// Spare is a transfer that is not needed now but would be used later. It is
// offered where a sheet that is paid anyway has room for it.
type Spare struct {
	Artwork string
	// PerMonth is its usual need a month; 0 means not known.
	PerMonth float64
	// From is the day from which it would be used; no date means not known.
	From programme.Date
}

// Room is an artwork that fits besides on the sheets of an order at no cost.
type Room struct {
	Layout  string `json:"layout"`
	Artwork string `json:"artwork"`
	Client  string `json:"client"`
	// Each is the number on one copy of the layout, Pieces the number on all copies.
	Each   int `json:"each"`
	Pieces int `json:"pieces"`
	// From is the day from which they would be used and Until about the day of the
	// last of them; no dates where their use is not known.
	From  programme.Date `json:"from,omitzero"`
	Until programme.Date `json:"until,omitzero"`
	// Taken says that they are on the layout; otherwise they are only offered.
	Taken bool `json:"taken,omitempty"`
}

// daysPerMonth is the mean length of a month in the Gregorian calendar.
const daysPerMonth = 365.2425 / 12

// Likely returns what the clients of a need would use later, as far as the need
// tells: the next need of every artwork whose rate is known, from the day on
// which this one is used up, and the clients' other artworks.
func Likely(req Request) (spares []Spare) {
	named, clients := map[string]bool{}, map[string]bool{}
	for _, n := range req.Needs {
		art, ok := req.Shop.Artwork(n.Artwork)
		if !ok || named[n.Artwork] {
			continue
		}
		named[n.Artwork], clients[art.Client] = true, true
		if n.PerMonth > 0 {
			days := min(float64(n.Pieces)/n.PerMonth*daysPerMonth, farAhead)
			spares = append(spares, Spare{n.Artwork, n.PerMonth, req.AsOf.Add(int(math.Ceil(days)))})
		}
	}
	for _, a := range req.Shop.Transfers() {
		if !named[a.Code] && a.Client != "" && clients[a.Client] {
			spares = append(spares, Spare{Artwork: a.Code})
		}
	}
	return spares
}

const (
	// farAhead is as many days ahead as a use is looked for.
	farAhead = 3650
	// usefulMonths is the number of months of need that are worth having where the kind sets no
	// limit: prints change (common practice, no source).
	usefulMonths = 12
	// roomEffort is the effort of packing a sheet anew with one image more, and
	// roomMost the number of images up to which that is tried.
	roomEffort = 60
	roomMost   = 80
)

// spare is one that suits an order.
type spare struct {
	Spare
	art  *programme.Artwork
	left int // transfers still worth having
}

// room finds what else fits on the layouts of an order and, where the request
// says so, puts it there. A length of roll that only a price asks for carries the
// next need of what is on the roll without being asked.
func (f *field) room(o *Order, req Request) {
	f.arts = map[string]*programme.Artwork{}
	for _, w := range f.wants {
		f.arts[w.line.Artwork] = w.art
	}
	if o.asUsed > 0 {
		f.layOut(o, f.spares(o, f.nextNeeds(req.AsOf), req), true)
	}
	f.layOut(o, f.spares(o, req.Spares, req), req.Fill)
}

// nextNeeds returns the wants whose rate is known, soonest used first.
func (f *field) nextNeeds(asOf programme.Date) (spares []Spare) {
	for _, w := range f.wants {
		if w.perMonth > 0 {
			days := min(float64(w.line.Asked)/w.perMonth*daysPerMonth, farAhead)
			spares = append(spares, Spare{w.line.Artwork, w.perMonth, asOf.Add(int(math.Ceil(days)))})
		}
	}
	return spares
}

// layOut offers spares on the layouts or, with take, puts them there.
func (f *field) layOut(o *Order, spares []*spare, take bool) {
	for _, s := range spares {
		f.arts[s.Artwork] = s.art
	}
	for i := range o.Layouts {
		l := o.Layouts[i]
		l.Items = slices.Clone(l.Items)
		before := len(o.Room)
		full := map[pack.Piece]bool{} // for images of that size, as the layout is
		for _, s := range spares {
			one := f.pieceOf(s.art, 1)
			for s.left > 0 && !full[one] && f.inksWith(&l, s.art) <= l.Inks {
				if full[one] = !f.addSpare(&l, s.art, one); full[one] {
					break
				}
				clear(full)
				s.left -= l.Copies
				o.offer(layoutName(i), s, l.Copies)
			}
		}
		if take && len(o.Room) > before {
			for k := before; k < len(o.Room); k++ {
				o.Room[k].Taken = true
			}
			sortItems(l.Items)
			o.Layouts[i].Items = l.Items
		}
	}
}

// offer adds one image on each copy of a layout to what is offered.
func (o *Order) offer(layout string, s *spare, copies int) {
	n := len(o.Room)
	if n == 0 || o.Room[n-1].Taken || o.Room[n-1].Layout != layout || o.Room[n-1].Artwork != s.Artwork {
		o.Room = append(o.Room, Room{Layout: layout, Artwork: s.Artwork, Client: s.art.Client, From: s.From})
		n++
	}
	r := &o.Room[n-1]
	r.Each++
	r.Pieces += copies
	if s.PerMonth > 0 && !s.From.IsZero() {
		var before int // on other layouts
		for _, other := range o.Room[:n-1] {
			if other.Artwork == s.Artwork {
				before += other.Pieces
			}
		}
		days := min(float64(before+r.Pieces)/s.PerMonth*daysPerMonth, farAhead)
		r.Until = s.From.Add(int(math.Ceil(days)))
	}
}

// spares returns the spares of the request that this order could carry, soonest used
// first, those of no known use last and once each.
func (f *field) spares(o *Order, of []Spare, req Request) (list []*spare) {
	over := map[string]int{}
	for _, l := range o.Layouts {
		for _, it := range l.Items {
			over[it.Artwork] += l.Copies
		}
	}
	for _, w := range f.wants {
		over[w.line.Artwork] -= w.line.Print
	}
	for _, s := range of {
		art, ok := req.Shop.Artwork(s.Artwork)
		if !ok || art.Kind != f.kind.Code {
			continue
		}
		if n := f.worthHaving(s, req.AsOf) - over[s.Artwork]; n > 0 {
			list = append(list, &spare{s, art, n})
		}
	}
	slices.SortStableFunc(list, func(a, b *spare) int {
		known := func(s *spare) int {
			if s.From.IsZero() {
				return 1
			}
			return 0
		}
		return cmp.Or(known(a)-known(b), cmp.Compare(a.From, b.From), cmp.Compare(b.PerMonth, a.PerMonth),
			cmp.Compare(a.Artwork, b.Artwork))
	})
	return list
}

// worthHaving returns how many transfers will be used before they are too old.
func (f *field) worthHaving(s Spare, asOf programme.Date) int {
	if s.PerMonth <= 0 || s.From.IsZero() {
		return 1
	}
	months := float64(usefulMonths)
	if f.kind.MaxOversMonths > 0 {
		months = f.kind.MaxOversMonths
	}
	if f.kind.ShelfDays > 0 {
		months = min(months, float64(f.kind.ShelfDays-s.From.Sub(asOf))/daysPerMonth)
	}
	return int(months * s.PerMonth)
}
