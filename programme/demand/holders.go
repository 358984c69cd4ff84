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
	unseen []unseen  // by piece
	ages   []float64 // by piece, in washes
	// surplus is the number held beyond the kit's: the first to
	// end need no replacement.
	surplus int
	// paces are factors on washes with their chances where people differ; nil = 1.
	paces []quadrature.Node
	// lastDay is the person's last day when it is already known.
	lastDay programme.Date
	// absence is when the person wears less than usual, at the part of it in which
	// nothing is worn; nil = always there.
	absence wear.Absence
	present *presence
	// outgrown pieces are worn until they are exchanged; what replaces them is owed.
	outgrown bool
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
}

// Short holds the pieces that one active person is missing from their kit today.
type Short struct {
	StaffID string
	programme.SKU
	Pieces int
}

// Short lists who is missing which pieces today, in the order of the roster
// and the kits. Its pieces add up to the Owed of the lines.
func (in *Input) Short() []Short { return newScene(in).short }

// Coming lists the kits of people on the roster whose first day is still to come,
// in the order of the roster and the kits.
func (in *Input) Coming() []Short {
	var out []Short
	for _, s := range newScene(in).starters {
		out = append(out, s.Short)
	}
	return out
}

// starter is a piece of such a kit.
type starter struct {
	Short
	line  int
	first programme.Date
}

func newScene(in *Input) *scene {
	s := &scene{in: in, at: map[programme.SKU]int{}}
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
	for _, r := range s.in.Client.Roles {
		for _, k := range r.Kit {
			g, ok := s.in.Shop.Garment(k.Garment)
			if !ok {
				continue
			}
			for _, z := range g.Sizes {
				if slices.ContainsFunc(s.in.Staffing.Sizes[g.SizeFamily], func(m programme.SizeShare) bool { return m.Size == z.Code && m.Share > 0 }) {
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
	return cmp.Or(cmp.Compare(a.Garment, b.Garment), cmp.Compare(a.Colour, b.Colour), cmp.Compare(s.rank(a), s.rank(b)), cmp.Compare(a.Size, b.Size))
}

func (s *scene) rank(k programme.SKU) int {
	g, ok := s.in.Shop.Garment(k.Garment)
	if !ok {
		return -1
	}
	return slices.IndexFunc(g.Sizes, func(z programme.GarmentSize) bool { return z.Code == k.Size })
}

// addPerson takes up what somebody holds, is owed, or will be issued on a known first day.
func (s *scene) addPerson(p *programme.Person, held map[holding][]*programme.Piece) {
	role, ok := s.in.Client.Role(p.Role)
	inKit := map[holding]bool{}
	if ok {
		for i := range role.Kit {
			l := &role.Kit[i]
			k := holding{p.StaffID, l.Garment, l.Colour}
			inKit[k] = true
			s.addHolding(p, l, held[k])
		}
	}
	for _, r := range s.in.Client.Roles { // pieces of a former role's kit are worn on, not replaced
		for _, l := range r.Kit {
			k := holding{p.StaffID, l.Garment, l.Colour}
			if pieces := held[k]; len(pieces) > 0 && !inKit[k] {
				inKit[k] = true
				s.hold(p, &l, pieces, len(pieces))
			}
		}
	}
}

func (s *scene) addHolding(p *programme.Person, l *programme.KitLine, pieces []*programme.Piece) {
	k, known := s.skuFor(p, l, pieces)
	line, listed := s.at[k]
	fit, outgrown := s.fitting(p, k, pieces)
	first := p.BackFrom(max(p.Start, s.in.AsOf))
	lastDay := p.End == s.in.AsOf // whoever hands the kit back today is owed none
	missing := l.Each - len(fit)
	switch {
	case missing <= 0 || !known || !listed || lastDay || first.IsZero():
	case first > s.in.AsOf: // has yet to start, or to come back
		s.starters = append(s.starters, starter{Short{p.StaffID, k, missing}, line, first})
	default:
		s.owed[line] += missing
		s.short = append(s.short, Short{p.StaffID, k, missing})
	}
	if len(fit) > 0 {
		s.hold(p, l, fit, max(0, len(fit)-l.Each))
	}
	if len(outgrown) > 0 {
		if h := s.hold(p, l, outgrown, len(outgrown)); h != nil {
			h.outgrown = true
		}
	}
}

// fitting parts the pieces that somebody holds into those that fit and those of a
// size that they changed from, where what they need now is k.
func (s *scene) fitting(p *programme.Person, k programme.SKU, pieces []*programme.Piece) (fit, outgrown []*programme.Piece) {
	g, ok := s.in.Shop.Garment(k.Garment)
	if !ok || len(p.Outgrown) == 0 || k.Size != p.Sizes[g.SizeFamily] {
		return pieces, nil
	}
	for _, piece := range pieces {
		if p.HasOutgrown(g.SizeFamily, piece.SKU.Size) {
			outgrown = append(outgrown, piece)
		} else {
			fit = append(fit, piece)
		}
	}
	return fit, outgrown
}

func (s *scene) hold(p *programme.Person, l *programme.KitLine, pieces []*programme.Piece, surplus int) *holder {
	use, ok := s.in.Book.Use(p.Role, l.Garment, l.Colour)
	if !ok {
		return nil
	}
	k, _ := s.skuFor(p, l, pieces)
	if _, ok := s.at[k]; !ok {
		k = pieces[0].SKU
	}
	// The kit's number stands for the future rotation; a pace of nothing would
	// have no age, so unworn pieces wash once in a very long time.
	rot := Rotation{Pace: max(use.Pace(use.Each), 1e-6), Limit: use.Limit}
	h := holder{person: p, use: use, sku: k, rot: rot, pieces: pieces, unseen: make([]unseen, len(pieces)), ages: make([]float64, len(pieces)), surplus: surplus, lastDay: p.End, paces: s.in.History.Pace(p.StaffID).Nodes(), absence: wear.AbsenceOf(p, s.in.AsOf)}
	h.present = presenceOf(h.absence, s.in.AsOf)
	for i, piece := range pieces {
		h.unseen[i] = s.in.unseen(piece)
	}
	s.holders = append(s.holders, h)
	return &s.holders[len(s.holders)-1]
}

// skuFor returns what a person is issued today: their size of the family, the only
// size of a one-size garment, or the size of what they hold.
func (s *scene) skuFor(p *programme.Person, l *programme.KitLine, pieces []*programme.Piece) (k programme.SKU, known bool) {
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
	if len(pieces) > 0 {
		return pieces[len(pieces)-1].SKU, true
	}
	return k, false
}

// at returns the holder with washes that come, and came, by a factor.
func (h *holder) at(pace float64) *holder {
	out := *h
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
