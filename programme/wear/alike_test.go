package wear_test

import (
	"math"
	"math/rand/v2"
	"slices"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/wear"
)

// alike is the days on which the pieces of one person who holds four were handed out, in
// order, and what is known of them: their chance, and that chance times the hazards that
// the pieces before them had lived through.
type alike struct {
	issued [4]int
	chance float64
	lived  float64
}

// everyWay returns the cumulative hazard that all pieces of one person are expected to have
// lived through, of it what those in service have, and how many of these end within a quarter, exactly: by every
// way in which the endings may be of the pieces. All four share one wash a day.
func everyWay(cloth wear.Weibull, ends []int, until int) (all, inService, ahead float64) {
	hazard := func(days int) float64 { return cloth.Hazard(float64(days) / 4) }
	now, states := 0, []alike{{chance: 1}}
	pass := func(day int) {
		for i := range states {
			s := &states[i]
			for _, d := range s.issued {
				f := math.Exp(hazard(now-d) - hazard(day-d))
				s.chance, s.lived = s.chance*f, s.lived*f
			}
		}
		now = day
	}
	for _, day := range ends {
		pass(day)
		next, sum := map[[4]int]alike{}, 0.0
		for _, s := range states {
			for i, d := range s.issued {
				if d == day {
					continue
				}
				danger := cloth.Shape * hazard(day-d) / float64(day-d)
				issued := s.issued
				issued[i] = day
				slices.Sort(issued[:])
				n := next[issued]
				n.issued, n.chance, n.lived = issued, n.chance+danger*s.chance,
					n.lived+danger*(s.lived+s.chance*hazard(day-d))
				next[issued] = n
				sum += danger * s.chance
			}
		}
		states = states[:0]
		for _, n := range next {
			if n.chance > 1e-7*sum {
				states = append(states, alike{n.issued, n.chance / sum, n.lived / sum})
			}
		}
	}
	pass(until)
	sum := 0.0
	for _, s := range states {
		sum += s.chance
		all += s.lived
		for _, d := range s.issued {
			inService += s.chance * hazard(until-d)
			ahead -= s.chance * math.Expm1(hazard(until-d)-hazard(until-d+quarter))
		}
	}
	return (all + inService) / sum, inService / sum, ahead / sum
}

const quarter = 91 // days

// Of alike pieces nobody knows which ended. With a known life the hazards that they lived
// through are as those worked out over every way in which it may have been; and, pieces ending
// as that life says, as many as ended.
func TestAlikePiecesLiveAsLongAsOverEveryWayInWhichTheyMayHaveEnded(t *testing.T) {
	const people, until = 100, 500
	shop, client := smallShop()
	client.Roles[0].Kit[0].Each, client.Roles[0].Kit[0].Decorations = 4, nil
	book, err := wear.NewBook(shop, client, nil)
	require.NoError(t, err)
	cloth := book.Classes()[0].Cloth.Weibull
	rng := rand.New(rand.NewPCG(7, 3))
	var moves []programme.Movement
	var all, inService, ahead, worn float64
	for i := range people {
		var ends []int
		var pieces [4]float64
		enter := func(m programme.Movement) {
			m.StaffID = strconv.Itoa(i)
			moves = append(moves, m)
		}
		life := func(day int) float64 {
			return float64(day) + 4*cloth.Scale*math.Pow(rng.ExpFloat64(), 1/cloth.Shape)
		}
		for j := range pieces {
			pieces[j] = life(0)
		}
		enter(issue(0, "M", 4))
		for day := 1; day < until; day++ {
			for j := range pieces {
				if pieces[j] < float64(day) {
					ends = append(ends, day)
					pieces[j] = life(day)
					enter(ended(day, "M", 1, programme.Worn))
					enter(issue(day, "M", 1))
				}
			}
		}
		a, s, n := everyWay(cloth, ends, until)
		all, inService, ahead, worn = all+a, inService+s, ahead+n, worn+float64(len(ends))
	}
	h := book.Trace(nil, moves, monday.Add(until))
	var gotAll, gotInService, pieces float64
	for _, list := range [][]programme.Piece{h.InService, h.Parts(), h.Ended} {
		for i := range list {
			if p := &list[i]; !p.Alike {
				x := p.Share() * cloth.Hazard(p.Washes)
				gotAll, pieces = gotAll+x, pieces+p.Share()
				if p.Ended.IsZero() {
					gotInService += x
				}
			}
		}
	}
	gotAhead := 0.0
	for i := range h.InService {
		p := &h.InService[i]
		gotAhead -= math.Expm1(cloth.Hazard(p.Washes) - cloth.Hazard(p.Washes+quarter/4.))
	}
	t.Logf("%g ended; lived through %.1f of %.1f, in service %.1f of %.1f; %.1f of %.1f end within a quarter", worn,
		gotAll, all, gotInService, inService, gotAhead, ahead)
	require.InEpsilon(t, ahead, gotAhead, 0.012)
	require.InEpsilon(t, worn, all, 4/math.Sqrt(worn), "pieces end as the life says")
	require.InEpsilon(t, all, gotAll, 0.01)
	require.InEpsilon(t, inService, gotInService, 0.02)
	require.InEpsilon(t, worn+4*people, pieces, 0.005)
}
