package demand

import (
	"cmp"
	"math"
	"slices"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/quadrature"
	"github.com/kitmuster/kitmuster/programme/wear"
)

// holder is one person's pieces of one garment and colour.
type holder struct {
	person *programme.Person
	use    *wear.Use
	sku    programme.SKU // of what replaces them: the person's size today
	rot    Rotation
	pieces []*programme.Piece
	unseen []unseen // by piece
	// kindred is the number of pieces, of all holders, that are worn as these are; see countKindred.
	kindred int
	ages    []float64   // by piece, in washes
	ahead   []*prospect // by piece; nil until forecast.aheadOf is asked for them
	// acceleration is the number of washes that each wash of the pieces counts for; rot's pace includes it.
	acceleration float64
	// surplus is the number held beyond the kit's: the first to
	// end need no replacement.
	surplus int
	// paces are factors on washes with their chances where people differ; nil = 1.
	paces []quadrature.Node
	// lastDay is the person's last day when it is already known.
	lastDay programme.Date
	// absence is the time in which the person wears less than usual, at the part of it in which
	// nothing is worn; nil = always there.
	absence wear.Absence
	present *presence
	// resizes says that the person may change to another size, in which what replaces them then is.
	resizes bool
	// outgrown pieces are worn until they are exchanged; what replaces them is owed.
	outgrown bool
	// later is what replaces them from a day on on which the kit changes; nil = sku always.
	later *later
	// due is the first day on which a replacement would be worn, where that is ahead:
	// no order of today could bring one within the season.
	due programme.Date
	// until restOn each piece is worn few times as often, since the rest of the kit
	// has yet to follow; no date = all are there.
	restOn programme.Date
	few    float64
}

// scene is the client laid out for counting.
type scene struct {
	in      *Input
	lines   []programme.SKU
	at      map[programme.SKU]int
	holders []holder
	// owed are pieces active staff are short of, starters pieces for people
	// whose first day is known, both by line.
	owed     []int
	short    []Short
	starters []starter
	outfits  *outfits
	// laters and presences are shared by those for whom they are the same.
	laters    map[string]*later
	presences map[*wear.Use]*presence
}

// Short holds the pieces that one active person is missing from their kit today.
type Short struct {
	StaffID string
	programme.SKU
	Pieces int
	// Begins is the first day of the season, or of the change of kit, for which they are
	// needed; none for what is missing today, or for people who have yet to come.
	Begins programme.Date
}

// comingBy lists what people on the roster are to be given on a known day still to
// come, up to a day.
func (s *scene) comingBy(day programme.Date) []Short {
	var out []Short
	for _, s := range s.starters {
		if s.on <= day {
			out = append(out, s.Short)
		}
	}
	return out
}

// Due is pieces that somebody is short of, or that are coming, with the day on which they are due.
type Due struct {
	Short
	On programme.Date
}

// Dues lists what is short, due on AsOf, and behind it all that is coming; see Muster.
func (in *Input) Dues() []Due {
	s := newScene(in)
	var out []Due
	for _, x := range s.short {
		out = append(out, Due{x, in.AsOf})
	}
	for _, x := range s.starters {
		out = append(out, Due{x.Short, x.on})
	}
	return out
}

// starter is pieces that are needed on a known day to come.
type starter struct {
	Short
	line int
	on   programme.Date
	// last is the last day of the line; no date = none is known.
	last programme.Date
	// there is the chance that the person is still there to take them.
	there float64
}

func newScene(in *Input) *scene {
	s := &scene{in: in, at: map[programme.SKU]int{}, outfits: outfitsOf(in.Shop, in.Client, in.Staff),
		laters: map[string]*later{}, presences: map[*wear.Use]*presence{}}
	s.listLines()
	held := s.piecesByHolder()
	for i := range in.Staff {
		if p := &in.Staff[i]; p.End.IsZero() || p.End >= in.AsOf {
			s.addPerson(p, held)
		}
	}
	return s
}

type holding struct{ staffID, garment, colour string }

func (s *scene) piecesByHolder() map[holding][]*programme.Piece {
	held := make(map[holding][]*programme.Piece, len(s.in.History.InService)/3+1)
	for i := range s.in.History.InService {
		p := &s.in.History.InService[i]
		k := holding{p.StaffID, p.SKU.Garment, p.SKU.Colour}
		held[k] = append(held[k], p)
	}
	return held
}

// listLines makes a line of every garment, colour and size that a starter may
// take, in the order of garments, colours and the garment's own sizes.
func (s *scene) listLines() {
	var all []programme.SKU
	seen := map[programme.SKU]bool{}
	add := func(k programme.SKU) {
		if !seen[k] {
			seen[k] = true
			all = append(all, k)
		}
	}
	for _, r := range s.outfits.roles {
		for k := range linesOf(s.outfits.places[r.Code]) {
			g, ok := s.in.Shop.Garment(k.Garment)
			if !ok || s.in.over(&r, k) {
				continue
			}
			for _, z := range g.Sizes {
				if slices.ContainsFunc(s.in.Staffing.Sizes[g.SizeFamily],
					func(m programme.SizeShare) bool { return m.Size == z.Code && m.Share > 0 }) {
					add(programme.SKU{Garment: k.Garment, Colour: k.Colour, Size: z.Code})
				}
			}
		}
	}
	for i := range s.in.History.InService {
		p := &s.in.History.InService[i]
		if _, ok := s.in.Book.Use("", p.SKU.Garment, p.SKU.Colour); ok {
			add(p.SKU)
		}
	}
	slices.SortFunc(all, s.bySize)
	s.lines = all
	for i, k := range all {
		s.at[k] = i
	}
	s.owed = make([]int, len(all))
}

func (s *scene) bySize(a, b programme.SKU) int {
	return cmp.Or(cmp.Compare(a.Garment, b.Garment), cmp.Compare(a.Colour, b.Colour), cmp.Compare(s.rank(a), s.rank(b)),
		cmp.Compare(a.Size, b.Size))
}

func (s *scene) rank(k programme.SKU) int {
	g, ok := s.in.Shop.Garment(k.Garment)
	if !ok {
		return -1
	}
	return slices.IndexFunc(g.Sizes, func(z programme.GarmentSize) bool { return z.Code == k.Size })
}

// addPerson takes up what somebody holds, is owed, or will be issued on a known day.
func (s *scene) addPerson(p *programme.Person, held map[holding][]*programme.Piece) {
	inKit := map[holding]bool{}
	places := s.outfits.places[s.outfits.role(p)]
	for i := range places {
		at := &places[i]
		var pieces []*programme.Piece
		for l := range at.held() {
			k := holding{p.StaffID, l.Garment, l.Colour}
			inKit[k] = true
			pieces = append(pieces, held[k]...)
		}
		s.addHolding(p, at, pieces)
	}
	for _, r := range s.outfits.roles { // pieces of a former role's kit are worn on, not replaced
		for l := range linesOf(s.outfits.places[r.Code]) {
			k := holding{p.StaffID, l.Garment, l.Colour}
			if pieces := held[k]; len(pieces) > 0 && !inKit[k] {
				inKit[k] = true
				s.hold(p, l, pieces, len(pieces))
			}
		}
	}
}

// addHolding takes up what somebody holds of one place of the kit, and what of it
// they are owed or will be given on a known day.
func (s *scene) addHolding(p *programme.Person, at *place, pieces []*programme.Piece) {
	on, l, ok := s.need(p, at)
	first := len(s.holders)
	if !ok { // nothing of it will be needed any more
		s.holdAll(p, at, pieces, len(pieces))
		for i := first; i < len(s.holders); i++ {
			s.holders[i].due = never
		}
		return
	}
	k, known := s.skuFor(p, l, pieces)
	fit, outgrown := s.fitting(p, k, pieces)
	missing := l.EachOn(p.Start, on) - len(fit)
	if known && p.End != s.in.AsOf { // whoever hands the kit back today is owed none
		s.want(p, l, k, missing, on)
		s.addRest(p, at, l, k, on, max(missing, 0)+len(fit))
		s.wantMore(p, at, l, fit, on)
	}
	s.holdAll(p, at, fit, max(0, len(fit)-l.Each))
	fitting := len(s.holders)
	s.holdAll(p, at, outgrown, len(outgrown))
	replaced, due, resizes := s.replacedBy(p, at, on, k, pieces), s.deferred(at), s.mayResize(p, l)
	for i := first; i < len(s.holders); i++ {
		h := &s.holders[i]
		h.outgrown, h.resizes = i >= fitting, resizes
		if !h.outgrown && l.RestOn(p.Start) > s.in.AsOf {
			h.restOn, h.few = l.RestOn(p.Start), float64(l.Each)/float64(min(len(fit), l.Each))
		}
		if _, listed := s.at[k]; listed {
			h.sku, h.later, h.due = k, replaced, due
		}
	}
}

// never is later than any day that is asked for.
const never programme.Date = math.MaxInt32

// holdAll adds a holder for each line of a place that somebody has pieces of; surplus
// of them are beyond the kit, another cut's and the oldest line's first.
func (s *scene) holdAll(p *programme.Person, at *place, pieces []*programme.Piece, surplus int) {
	for l := range at.held() {
		of := pieces
		if len(at.lines)+len(at.others) > 1 {
			of = slices.DeleteFunc(slices.Clone(pieces), func(x *programme.Piece) bool { return !ofLine(x, l) })
		}
		if len(of) > 0 {
			beyond := min(surplus, len(of))
			surplus -= beyond
			s.hold(p, l, of, beyond)
		}
	}
}

func ofLine(p *programme.Piece, l *programme.KitLine) bool {
	return p.SKU.Garment == l.Garment && p.SKU.Colour == l.Colour
}

// want notes that somebody needs pieces on a day.
func (s *scene) want(p *programme.Person, l *programme.KitLine, k programme.SKU, pieces int, on programme.Date) {
	line, listed := s.at[k]
	if pieces <= 0 || !listed {
		return
	}
	need := Short{StaffID: p.StaffID, SKU: k, Pieces: pieces}
	if on <= s.in.AsOf {
		s.owed[line] += pieces
		s.short = append(s.short, need)
		return
	}
	if p.BackFrom(max(p.Start, s.in.AsOf)) <= s.in.AsOf { // is there, and has been
		need.Begins = on
	}
	s.starters = append(s.starters, starter{need, line, on, l.Until, 1})
}

// addRest takes up the rest of a kit that is given in two parts: what the place lacks
// with so many pieces there, for whoever stays until its day. Where the kit has changed
// by then, it is of the line that is given then, and an order of today is for it only
// where no later round's would come in time.
func (s *scene) addRest(p *programme.Person, at *place, l *programme.KitLine, k programme.SKU, from programme.Date,
	there int) {
	due := l.RestOn(p.Start)
	if due <= from {
		return
	}
	on, then, ok := s.in.serve(at.lines, due)
	if !ok || !p.End.IsZero() && p.End <= on {
		return
	}
	if then != l {
		known := false
		if k, known = s.skuFor(p, then, nil); !known || s.in.LeadDays > 0 && then.From > s.in.AsOf.Add(s.in.LeadDays) {
			return
		}
	}
	line, listed := s.at[k]
	if missing := min(l.Each, then.Each) - there; missing > 0 && listed {
		stays := s.in.Staffing.Stays(p.Start, from, on)
		s.starters = append(s.starters, starter{Short{StaffID: p.StaffID, SKU: k, Pieces: missing}, line, on,
			then.Until, stays})
	}
}

// wantMore notes what later lines of a place have more of than those before.
func (s *scene) wantMore(p *programme.Person, at *place, now *programme.KitLine, fit []*programme.Piece,
	on programme.Date) {
	each := max(now.Each, len(fit))
	for i := range at.lines {
		l := &at.lines[i]
		if l.From <= max(on, s.in.AsOf.Add(s.in.LeadDays)) || l == now {
			continue
		}
		if day, _, ok := at.lines.NextWorn(l.From); ok {
			if k, known := s.skuFor(p, l, fit); known {
				s.want(p, l, k, l.Each-each, day)
			}
			each = max(each, l.Each)
		}
	}
}

// fitting parts the pieces that somebody holds into those that fit and those of a size,
// or of a cut, that they changed from, where what they need now is k.
func (s *scene) fitting(p *programme.Person, k programme.SKU,
	pieces []*programme.Piece) (fit, outgrown []*programme.Piece) {
	g, ok := s.in.Shop.Garment(k.Garment)
	if !ok || len(p.Outgrown) == 0 || k.Size != p.Sizes[g.SizeFamily] {
		return pieces, nil
	}
	for _, piece := range pieces {
		family := g.SizeFamily
		if own, ok := s.in.Shop.Garment(piece.SKU.Garment); ok {
			family = own.SizeFamily
		}
		if p.HasOutgrown(family, piece.SKU.Size, g.SizeFamily) {
			outgrown = append(outgrown, piece)
		} else {
			fit = append(fit, piece)
		}
	}
	return fit, outgrown
}

// hold adds a holder of pieces that lines of their own kind replace, and one of those
// that wear out faster.
func (s *scene) hold(p *programme.Person, l *programme.KitLine, pieces []*programme.Piece, surplus int) {
	use, ok := s.in.Book.Use(p.Role, l.Garment, l.Colour)
	if !ok {
		return
	}
	k, _ := s.skuFor(p, l, pieces)
	if _, ok := s.at[k]; !ok {
		k = pieces[0].SKU
	}
	for len(pieces) > 0 {
		alike, others := s.in.asHasty(pieces)
		beyond := min(surplus, len(alike))
		s.holdAlike(p, use, k, alike, beyond)
		pieces, surplus = others, surplus-beyond
	}
}

// asHasty parts pieces into those whose washes count as the first's do, and the others.
func (in *Input) asHasty(pieces []*programme.Piece) (alike, others []*programme.Piece) {
	first := in.History.Acceleration(pieces[0])
	differs := func(p *programme.Piece) bool { return in.History.Acceleration(p) != first }
	if !slices.ContainsFunc(pieces, differs) {
		return pieces, nil
	}
	for _, p := range pieces {
		if differs(p) {
			others = append(others, p)
		} else {
			alike = append(alike, p)
		}
	}
	return alike, others
}

func (s *scene) holdAlike(p *programme.Person, use *wear.Use, k programme.SKU, pieces []*programme.Piece, surplus int) {
	// The kit's number stands for the future rotation; a pace of nothing would
	// have no age, so unworn pieces wash once in a very long time.
	acceleration := s.in.History.Acceleration(pieces[0])
	rot := Rotation{Pace: acceleration * max(use.Pace(use.Each), 1e-6), Limit: acceleration * use.Limit}
	h := holder{acceleration: acceleration, person: p, use: use, sku: k, rot: rot, pieces: pieces,
		unseen: make([]unseen, len(pieces)), ages: make([]float64, len(pieces)), surplus: surplus, lastDay: p.End,
		paces: s.in.History.Pace(p.StaffID).Nodes(), absence: use.AbsenceOf(p, s.in.AsOf)}
	h.present = s.presence(p, use, h.absence)
	for i, piece := range pieces {
		h.unseen[i] = s.in.unseen(piece)
		h.unseen[i].washes *= acceleration
		h.unseen[i].lateWashes *= acceleration
	}
	s.holders = append(s.holders, h)
}

// presence is one for all who wear a garment in its season and are there.
func (s *scene) presence(p *programme.Person, use *wear.Use, a wear.Absence) *presence {
	if len(p.Spells) > 0 || p.Start > s.in.AsOf {
		return presenceOf(a, s.in.AsOf)
	}
	got, ok := s.presences[use]
	if !ok {
		got = presenceOf(a, s.in.AsOf)
		s.presences[use] = got
	}
	return got
}

// skuFor returns what a person is issued today: their size of the family, the only
// size of a one-size garment, or the size of what they hold.
func (s *scene) skuFor(p *programme.Person, l *programme.KitLine,
	pieces []*programme.Piece) (k programme.SKU, known bool) {
	k = programme.SKU{Garment: l.Garment, Colour: l.Colour}
	if g, ok := s.in.Shop.Garment(l.Garment); ok {
		if size := p.Sizes[g.SizeFamily]; size != "" {
			if _, ok := g.Size(size); ok {
				k.Size = size
				return k, true
			}
		}
		if len(g.Sizes) == 1 {
			k.Size = g.Sizes[0].Code
			return k, true
		}
	}
	for _, p := range slices.Backward(pieces) {
		if ofLine(p, l) {
			return p.SKU, true
		}
	}
	if len(pieces) > 0 { // of the line before, in the same size where there is one
		k.Size = pieces[len(pieces)-1].SKU.Size
		if g, ok := s.in.Shop.Garment(l.Garment); ok {
			_, known = g.Size(k.Size)
		}
	}
	return k, known
}

// at returns the holder with washes that come, and came, by a factor.
func (h *holder) at(pace float64) *holder {
	out := *h
	out.ahead = nil
	out.rot.Pace *= pace
	out.ages = make([]float64, len(h.ages))
	out.unseen = make([]unseen, len(h.unseen))
	for i := range h.ages {
		out.ages[i], out.unseen[i] = pace*h.ages[i], h.unseen[i]
		out.unseen[i].washes *= pace
		out.unseen[i].lateWashes *= pace
	}
	return &out
}

// usual returns the holder at the middle of the paces that may be the person's.
func (h *holder) usual() *holder {
	if len(h.paces) == 0 {
		return h
	}
	return h.at(math.Sqrt(h.paces[0].At * h.paces[len(h.paces)-1].At))
}

// variants returns the holder at each pace that may be the person's, with their chances.
func (h *holder) variants() ([]*holder, []float64) {
	if len(h.paces) == 0 {
		return []*holder{h}, []float64{1}
	}
	var out []*holder
	var weights []float64
	for _, n := range h.paces {
		out, weights = append(out, h.at(n.At)), append(weights, n.Weight)
	}
	return out, weights
}
