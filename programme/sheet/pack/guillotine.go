package pack

// guillotiner builds sheets that straight cuts from edge to edge take apart:
// the best fitting piece goes into the corner of a free rectangle, one cut
// parts the rest of it in two, and both rests are filled the same way.
type guillotiner struct {
	elems  []element
	slots  []slot
	free   []rest
	places []Place
	// longest is the greatest length of a cut along the sheet; 0 sets no limit.
	longest int64
}

// rest is a free rectangle.
type rest struct{ x, y, w, h int64 }

func (r rest) area() int64 { return r.w * r.h }

func (g *guillotiner) result() []Place { return g.places }

func (g *guillotiner) remaining() int { return countLeft(g.slots) }

func (g *guillotiner) load(order []int32) { g.slots = loadSlots(g.slots, order, g.elems) }

// fill works through free rectangles, last made first. Of the two rests of a
// cut the smaller is filled first, so that the larger stays for what is left.
func (g *guillotiner) fill(width, limit int64) (placed int64) {
	g.places = g.places[:0]
	g.free = append(g.free[:0], rest{0, 0, width, limit})
	for len(g.free) > 0 && len(g.slots) > 0 {
		r := g.free[len(g.free)-1]
		g.free = g.free[:len(g.free)-1]
		c := g.choose(r)
		if c.at < 0 {
			continue
		}
		p := &g.slots[c.at]
		g.cut(r, c, p.flip)
		g.places = append(g.places, Place{int(p.id), r.x, r.y, c.w, c.h, c.turn})
		placed += c.w * c.h
		if p.left--; p.left == 0 {
			g.slots = append(g.slots[:c.at], g.slots[c.at+1:]...)
		}
	}
	return placed
}

// choose takes the first piece of the sequence among those that match most sides of r.
func (g *guillotiner) choose(r rest) choice {
	best := choice{at: -1, score: -1}
	for i := range g.slots {
		p := &g.slots[i]
		if p.w <= r.w && p.h <= r.h {
			if v := r.matches(p.w, p.h); v > best.score {
				best = choice{i, v, p.w, p.h, false}
			}
		}
		if p.turn && p.h <= r.w && p.w <= r.h {
			if v := r.matches(p.h, p.w); v > best.score {
				best = choice{i, v, p.h, p.w, true}
			}
		}
		if best.score == 2 {
			return best
		}
	}
	return best
}

func (r rest) matches(w, h int64) (n int) {
	if w == r.w {
		n++
	}
	if h == r.h {
		n++
	}
	return n
}

// cut parts what c leaves of r by the cut that keeps the larger rest whole, or
// by the other one when flip is set. In a rectangle without end the cut must
// run across it, else nothing would ever be put above, and so it must in one that
// is longer than a cut along it may be.
func (g *guillotiner) cut(r rest, c choice, flip bool) {
	acrossTop := rest{r.x, r.y + c.h, r.w, r.h - c.h}
	acrossSide := rest{r.x + c.w, r.y, r.w - c.w, c.h}
	alongTop := rest{r.x, r.y + c.h, c.w, r.h - c.h}
	alongSide := rest{r.x + c.w, r.y, r.w - c.w, r.h}
	tooLong := r.h > unbounded/2 || (g.longest > 0 && r.h > g.longest)
	if tooLong || (acrossTop.area() >= alongSide.area()) != flip {
		g.push(acrossTop, acrossSide)
		return
	}
	g.push(alongTop, alongSide)
}

// push puts the larger rest below the smaller.
func (g *guillotiner) push(a, b rest) {
	if a.h < unbounded/2 && a.area() < b.area() {
		a, b = b, a
	}
	if a.w > 0 && a.h > 0 {
		g.free = append(g.free, a)
	}
	if b.w > 0 && b.h > 0 {
		g.free = append(g.free, b)
	}
}
