package pack

import "slices"

// onesize finds how many equal rectangles a sheet holds and where they lie. By
// straight cuts it is exact: a dynamic programme over all cuts at sums of the
// two sides (Gilmore & Gomory, Operations Research 14(6), 1966; cuts at sums of
// sides are enough, Herz, IBM J. Res. Dev. 16(5), 1972). Where pieces may lie
// in a pinwheel, a first division into five blocks is tried besides (Bischoff &
// Dowsland, JORS 33(3), 1982). All sources from memory.
type onesize struct {
	w, h  int64
	turn  bool
	xs    []int64 // sums of the sides, ascending, from 0
	known []int32 // by width and height as numbers of sums: one more than the most, 0 = not known
}

// mostSums bounds the sums of sides looked at; a sheet with more holds so many
// rectangles that a search loses nothing worth having.
const mostSums = 400

// OneSize returns where the most equal rectangles lie that a sheet of width by
// height holds: by straight cuts proven to be the most. ok is false when the
// rectangles are too small for the sheet to be looked at this way.
func OneSize(p Piece, width, height int64, straight bool) (places []Place, ok bool) {
	o := &onesize{w: p.W, h: p.H, turn: p.Turn && p.W != p.H}
	if p.W <= 0 || p.H <= 0 || width*height/(p.W*p.H) > 10_000 {
		return nil, false
	}
	o.xs = o.sums(max(width, height))
	if len(o.xs) > mostSums {
		return nil, false
	}
	o.known = make([]int32, len(o.xs)*len(o.xs))
	places = o.lay(0, 0, width, height)
	if !straight && o.turn {
		if more := o.pinwheel(width, height); len(more) > len(places) {
			places = more
		}
	}
	return places, true
}

func (o *onesize) sums(limit int64) []int64 {
	var xs []int64
	for a := int64(0); a <= limit; a += o.w {
		for b := a; b <= limit; b += o.h {
			xs = append(xs, b)
			if len(xs) > 50*mostSums {
				return xs
			}
		}
	}
	slices.Sort(xs)
	return slices.Compact(xs)
}

// floor returns the greatest sum of sides up to v, by its number.
func (o *onesize) floor(v int64) int32 {
	i, exact := slices.BinarySearch(o.xs, v)
	if !exact {
		i--
	}
	return int32(i)
}

// count returns the most rectangles by straight cuts.
func (o *onesize) count(width, height int64) int32 { return o.most(o.floor(width), o.floor(height)) }

// most returns count of two sums of sides, by their numbers.
func (o *onesize) most(width, height int32) int32 {
	at := int(width)*len(o.xs) + int(height)
	if n := o.known[at]; n > 0 {
		return n - 1
	}
	n, _, _ := o.cut(o.xs[width], o.xs[height])
	o.known[at] = n + 1
	return n
}

// cut returns the most rectangles and the first cut that leads to them: at the
// distance at from the left or, when level, from the top; 0 when rows do as well.
func (o *onesize) cut(width, height int64) (most int32, at int64, level bool) {
	most = o.rows(width, height)
	bound := int32(width * height / (o.w * o.h))
	for _, x := range o.xs {
		if most == bound || x == 0 {
			continue
		}
		if 2*x > max(width, height) {
			break
		}
		if 2*x <= width {
			if n := o.count(x, height) + o.count(width-x, height); n > most {
				most, at, level = n, x, false
			}
		}
		if 2*x <= height {
			if n := o.count(width, x) + o.count(width, height-x); n > most {
				most, at, level = n, x, true
			}
		}
	}
	return most, at, level
}

// rows returns how many lie in straight rows, all the same way.
func (o *onesize) rows(width, height int64) int32 {
	n := (width / o.w) * (height / o.h)
	if o.turn {
		n = max(n, (width/o.h)*(height/o.w))
	}
	return int32(n)
}

// lay places the most rectangles by straight cuts.
func (o *onesize) lay(x, y, width, height int64) []Place {
	_, at, level := o.cut(width, height)
	switch {
	case at == 0:
		return o.layRows(x, y, width, height)
	case level:
		return append(o.lay(x, y, width, at), o.lay(x, y+at, width, height-at)...)
	default:
		return append(o.lay(x, y, at, height), o.lay(x+at, y, width-at, height)...)
	}
}

func (o *onesize) layRows(x, y, width, height int64) (places []Place) {
	w, h, turned := o.w, o.h, false
	if o.turn && (width/h)*(height/w) > (width/w)*(height/h) {
		w, h, turned = h, w, true
	}
	for dy := int64(0); dy+h <= height; dy += h {
		for dx := int64(0); dx+w <= width; dx += w {
			places = append(places, Place{0, x + dx, y + dy, w, h, turned})
		}
	}
	return places
}

// mostPinwheels bounds the divisions into five blocks that are looked at.
const mostPinwheels = 400_000

// pinwheel tries every division into four blocks round a fifth.
func (o *onesize) pinwheel(width, height int64) []Place {
	xs, ys := o.upTo(width), o.upTo(height)
	if pairs := len(xs) * len(xs) * len(ys) * len(ys) / 4; pairs > mostPinwheels {
		return nil
	}
	var best int32
	var at [4]int64
	right, below, between := o.less(width, xs), o.less(height, ys), o.apart(ys)
	for i, x1 := range xs {
		for k, x2 := range xs[i:] {
			k += i
			inner := o.floor(x2 - x1)
			for j, y1 := range ys {
				first := o.most(right[i], int32(j+1)) + o.most(right[k], below[j])
				for m := j; m < len(ys); m++ {
					n := first + o.most(int32(i+1), int32(m+1)) + o.most(int32(k+1), below[m]) + o.most(inner,
						between[j*len(ys)+m])
					if n > best {
						best, at = n, [4]int64{x1, x2, y1, ys[m]}
					}
				}
			}
		}
	}
	x1, x2, y1, y2 := at[0], at[1], at[2], at[3]
	return slices.Concat(o.lay(0, 0, x1, y2), o.lay(x1, 0, width-x1, y1), o.lay(x2, y1, width-x2, height-y1),
		o.lay(0, y2, x2, height-y2), o.lay(x1, y1, x2-x1, y2-y1))
}

// upTo returns the sums of sides above 0 and below v.
func (o *onesize) upTo(v int64) []int64 {
	return o.xs[1:max(1, int(o.floor(v-1))+1)]
}

// less returns, by sum of sides, the numbers of what is left of a side.
func (o *onesize) less(side int64, sums []int64) []int32 {
	out := make([]int32, len(sums))
	for i, x := range sums {
		out[i] = o.floor(side - x)
	}
	return out
}

// apart returns the numbers of the distances between two sums of sides, the first
// not the greater.
func (o *onesize) apart(sums []int64) []int32 {
	out := make([]int32, len(sums)*len(sums))
	for i, a := range sums {
		for j := i; j < len(sums); j++ {
			out[i*len(sums)+j] = o.floor(sums[j] - a)
		}
	}
	return out
}
