package pack

// gapSteps is the number of steps by which widths of gaps are told apart.
const gapSteps = 4096

// measureGaps works out by sums of subsets how much of a gap stays idle at the least.
func (b *beam) measureGaps(steps int64) {
	b.grain = max(1, (b.width+steps-1)/steps)
	n := int(b.width / b.grain)
	full := make([]int64, n+1) // the widest row in a gap
	b.idle = make([]int64, n+1)
	for x := 1; x <= n; x++ {
		full[x] = full[x-1]
		for _, l := range b.lays {
			if l.w > int64(x)*b.grain {
				break
			}
			rest := (int64(x)*b.grain - l.w) / b.grain
			full[x] = max(full[x], l.w+full[rest])
		}
		b.idle[x] = int64(x)*b.grain - full[x]
	}
}

// unused returns what no row of pieces can use of a gap of this width.
func (b *beam) unused(w int64) int64 {
	i := w / b.grain
	return b.idle[i] + w - i*b.grain
}

// price values shapes by area, by what was learnt and, up to the share hard of
// it, by how much of the width they take up.
func (b *beam) price(hard float64) {
	b.value = b.value[:0]
	for i, s := range b.shapes {
		side := s.w
		if s.turn {
			side = min(s.w, s.h)
		}
		wide := float64(side+max(s.w, s.h)) / float64(2*b.width)
		b.value = append(b.value, float64(s.w)*float64(s.h)*(1+hard*wide)*b.learnt[i])
	}
	var sum float64
	for i, s := range b.shapes {
		sum += b.value[i] * float64(s.count)
	}
	for i := range b.value {
		b.value[i] *= float64(b.total) / sum
	}
}

// learnBands is into how many bands a packing is cut to see where it wastes.
const learnBands = 64

// learn raises the value of shapes that lay where much was wasted.
func (b *beam) learn(places []Place, top int64, gain float64) {
	var used [learnBands]float64
	band := float64(top) / learnBands
	each := func(p *Place, see func(i int, part float64)) {
		from, to := float64(p.Y)/band, float64(p.Y+p.H)/band
		for i := int(from); i < learnBands && float64(i) < to; i++ {
			see(i, min(to, float64(i+1))-max(from, float64(i)))
		}
	}
	for i := range places {
		each(&places[i], func(k int, part float64) { used[k] += part * float64(places[i].W) / float64(b.width) })
	}
	lost, seen := make([]float64, len(b.shapes)), make([]float64, len(b.shapes))
	for i := range places {
		s := places[i].Piece
		each(&places[i], func(k int, part float64) {
			lost[s] += part * (1 - min(1, used[k]))
			seen[s] += part
		})
	}
	for i := range b.learnt {
		b.learnt[i] *= 1 + gain*lost[i]/max(1e-9, seen[i])
	}
}
