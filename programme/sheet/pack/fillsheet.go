package pack

// pattern is one way to fill a sheet, taken times times.
type pattern struct {
	places []Place // by shape
	times  int32
}

// fillAll fills sheet after sheet with what is worth most and takes each as
// often as the pieces left allow. false when it was stopped before the end.
func (b *beam) fillAll(height int64, beamWidth int) ([]pattern, bool) {
	left := b.counts()
	var out []pattern
	used := make([]int32, len(left))
	for n := b.pieces; n > 0; {
		places := b.fillSheet(left, height, beamWidth)
		clear(used)
		for i := range places {
			used[places[i].Piece]++
		}
		p := pattern{places, int32(1 << 30)}
		for i, u := range used {
			if u > 0 {
				p.times = min(p.times, left[i]/u)
			}
		}
		for i, u := range used {
			left[i] -= u * p.times
			n -= int(u * p.times)
		}
		out = append(out, p)
		if b.stop != nil && b.stop() {
			return nil, false
		}
	}
	return out, true
}

// learnSheets raises the value of shapes that lay on sheets with much waste.
func (b *beam) learnSheets(patterns []pattern, height int64) {
	lost, seen := make([]float64, len(b.shapes)), make([]float64, len(b.shapes))
	for _, p := range patterns {
		var a float64
		for i := range p.places {
			a += float64(p.places[i].W) * float64(p.places[i].H)
		}
		waste := 1 - a/(float64(b.width)*float64(height))
		for i := range p.places {
			lost[p.places[i].Piece] += waste * float64(p.times)
			seen[p.places[i].Piece] += float64(p.times)
		}
	}
	for i := range b.learnt {
		b.learnt[i] *= 1 + learnGain*lost[i]/max(1e-9, seen[i])
	}
}

func sheetsOf(patterns []pattern) (n int) {
	for _, p := range patterns {
		n += int(p.times)
	}
	return n
}
