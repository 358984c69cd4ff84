package pack

import (
	"cmp"
	"math/rand/v2"
	"slices"
)

// sections packs a strip for a trimmer: cuts across part it into sections no
// longer than the trimmer cuts, cuts along part a section into columns, and
// cuts across part a column into pieces (three stages, Gilmore & Gomory,
// Operations Research 13(1), 1965, from memory). The section that shows most
// for its length is taken as often as the pieces left allow; what lay where
// much was wasted counts for more in the next build.
type sections struct {
	*beam
	rng     *rand.Rand
	longest int64 // of a section
	left    []int32
	// way is the lay of the first piece of each shape, counted from 1; 0 = none yet.
	way []int32
	// otherWay is the one of otherWays that this build takes.
	otherWay float64
	// made are the sections of one build.
	made []section
	// best, from and of are the table of the widths: the value of the best
	// columns on a width, the width before the last of them, and which that is.
	best []float64
	from []int32
	of   []int32
}

// column is a stack of n pieces of one lay and, above them, m of another that is
// no wider.
type column struct {
	w, height int64
	a, b      int32 // lays
	n, m      int32
	value     float64
}

// section is columns side by side, taken times times one after the other.
type section struct {
	height  int64
	columns []column
	value   float64
	times   int32
}

// sectionSteps is the number of steps in which the width is divided among columns.
const sectionSteps = 1024

func newSections(b *beam, longest int64, seed uint64) *sections {
	if longest <= 0 {
		longest = 2 * b.width
	}
	for _, l := range b.lays {
		longest = max(longest, l.h)
	}
	return &sections{beam: b, longest: longest, rng: rand.New(rand.NewPCG(seed, 0x74726d))}
}

// build makes one packing of all pieces; heights is how many section heights
// are tried for each section.
func (s *sections) build(heights int) ([]Place, int64) {
	s.made = s.made[:0]
	s.left = s.left[:0]
	s.way = resize(s.way, len(s.shapes))
	n := 0
	for i := range s.shapes {
		s.left = append(s.left, s.shapes[i].count)
		n += int(s.shapes[i].count)
	}
	for n > 0 {
		best := section{value: -1}
		for _, h := range s.heights(heights) {
			s.opened++
			if c := s.fill(h); c.value*float64(best.height) > best.value*float64(c.height) || best.value < 0 {
				best = c
			}
		}
		n -= s.take(&best)
	}
	return s.lay()
}

// heights returns section heights worth trying: stacks of one piece that is left.
func (s *sections) heights(most int) []int64 {
	var all []int64
	for _, l := range s.lays {
		n := int64(s.left[l.shape])
		for k := int64(1); k <= n && k*l.h <= s.longest; k++ {
			all = append(all, k*l.h)
		}
	}
	slices.Sort(all)
	all = slices.Compact(all)
	for i := range min(most, len(all)) {
		j := i + s.rng.IntN(len(all)-i)
		all[i], all[j] = all[j], all[i]
	}
	return all[:min(most, len(all))]
}

// fill finds columns for a section of height h and cuts the height back to the
// highest of them.
func (s *sections) fill(h int64) section {
	columns := s.columns(h)
	grain := max(1, (s.width+sectionSteps-1)/sectionSteps)
	size := int(s.width / grain)
	s.best, s.from, s.of = resize(s.best, size+1), resize(s.from, size+1), resize(s.of, size+1)
	end := 0
	for x := 1; x <= size; x++ {
		s.best[x], s.from[x], s.of[x] = s.best[x-1], int32(x-1), -1
		for i := range columns {
			c := &columns[i]
			before := x - int((c.w+grain-1)/grain)
			if before < 0 {
				continue
			}
			if v := s.best[before] + c.value; v > s.best[x] && s.enough(columns, before, c) {
				s.best[x], s.from[x], s.of[x] = v, int32(before), int32(i)
			}
		}
		if s.best[x] > s.best[end] {
			end = x
		}
	}
	out := section{value: s.best[end]}
	for x := end; x > 0; x = int(s.from[x]) {
		if s.of[x] >= 0 {
			c := columns[s.of[x]]
			out.columns = append(out.columns, c)
			out.height = max(out.height, c.height)
		}
	}
	return out
}

func resize[T any](v []T, n int) []T {
	if cap(v) < n {
		return make([]T, n)
	}
	v = v[:n]
	clear(v)
	return v
}

// enough reports that the pieces left make one more column c beside those that
// lead to a width.
func (s *sections) enough(columns []column, x int, c *column) bool {
	a, b := s.lays[c.a].shape, s.lays[c.b].shape
	needA, needB := c.n, c.m
	if a == b {
		needA, needB = c.n+c.m, 0
	}
	for ; x > 0; x = int(s.from[x]) {
		if s.of[x] < 0 {
			continue
		}
		d := &columns[s.of[x]]
		for _, used := range [2]struct {
			shape, n int32
		}{{s.lays[d.a].shape, d.n}, {s.lays[d.b].shape, d.m}} {
			if used.shape == a {
				needA += used.n
			}
			if used.shape == b && b != a {
				needB += used.n
			}
		}
	}
	return needA <= s.left[a] && (a == b || needB <= s.left[b])
}

// columns returns the useful stacks up to height h, one kind of piece alone or with
// another on top.
func (s *sections) columns(h int64) []column {
	var out []column
	for i := range s.lays {
		a := &s.lays[i]
		n := min(int64(s.left[a.shape]), h/a.h)
		if n == 0 {
			continue
		}
		v := s.worth(int32(i))
		out = append(out, column{a.w, n * a.h, int32(i), int32(i), int32(n), 0, float64(n) * v})
		bound := out[len(out)-1].value
		for j := i - 1; j >= 0 && s.lays[j].w*10 >= a.w*9; j-- {
			b := &s.lays[j]
			for m := n; m >= max(1, n-1); m-- {
				room := int64(s.left[b.shape])
				if b.shape == a.shape {
					room -= m
				}
				k := min(room, (h-m*a.h)/b.h)
				if k <= 0 {
					continue
				}
				if value := float64(m)*v + float64(k)*s.worth(int32(j)); value > bound {
					out = append(out, column{a.w, m*a.h + k*b.h, int32(i), int32(j), int32(m), int32(k), value})
				}
			}
		}
	}
	return dominant(out)
}

// otherWays are the factors on the value of a piece that lies otherwise than its like
// before; builds take turns at them. The first is a little less than 1, so that most
// lie one way; the second gives up some length for that.
var otherWays = []float64{0.985, 0.88}

func (s *sections) worth(k int32) float64 {
	l := &s.lays[k]
	if way := s.way[l.shape]; way != 0 && way != k+1 {
		return s.otherWay * s.value[l.shape]
	}
	return s.value[l.shape]
}

// mostColumns keeps the table of widths quick to fill.
const mostColumns = 120

// dominant keeps the columns that show most for their width.
func dominant(all []column) []column {
	slices.SortStableFunc(all, func(x, y column) int {
		return cmp.Compare(y.value*float64(x.w), x.value*float64(y.w))
	})
	return all[:min(len(all), mostColumns)]
}

// take adds a section as often as the pieces left allow and returns their number.
func (s *sections) take(c *section) int {
	used := map[int32]int32{}
	for i := range c.columns {
		used[s.lays[c.columns[i].a].shape] += c.columns[i].n
		used[s.lays[c.columns[i].b].shape] += c.columns[i].m
		for _, k := range []int32{c.columns[i].a, c.columns[i].b} {
			if way := &s.way[s.lays[k].shape]; *way == 0 {
				*way = k + 1
			}
		}
	}
	c.times = int32(1 << 30)
	for shape, n := range used {
		if n > 0 {
			c.times = min(c.times, s.left[shape]/n)
		}
	}
	taken := 0
	for shape, n := range used {
		s.left[shape] -= n * c.times
		taken += int(n * c.times)
	}
	s.made = append(s.made, *c)
	return taken
}

// tidy lays them again with equal columns side by side and sections that are cut
// alike one after the other, so that the fence of the trimmer is seldom set anew.
func (s *sections) tidy() []Place {
	for i := range s.made {
		slices.SortStableFunc(s.made[i].columns, func(x, y column) int {
			return cmp.Or(cmp.Compare(x.a, y.a), cmp.Compare(x.b, y.b), cmp.Compare(x.n, y.n), cmp.Compare(x.m, y.m))
		})
	}
	slices.SortStableFunc(s.made, func(x, y section) int {
		return cmp.Or(cmp.Compare(x.columns[0].a, y.columns[0].a), cmp.Compare(x.height, y.height),
			slices.CompareFunc(x.columns, y.columns, func(c, d column) int {
				return cmp.Or(cmp.Compare(c.w, d.w), cmp.Compare(c.a, d.a), cmp.Compare(c.height, d.height))
			}))
	})
	places, _ := s.lay()
	return places
}

// lay places the sections that were made, one after the other.
func (s *sections) lay() (places []Place, y int64) {
	for _, c := range s.made {
		for range c.times {
			var x int64
			for _, col := range c.columns {
				at := y
				for k := range col.n + col.m {
					l := &s.lays[col.a]
					if k >= col.n {
						l = &s.lays[col.b]
					}
					places = append(places, Place{int(l.shape), x, at, l.w, l.h, l.turned})
					at += l.h
				}
				x += col.w
			}
			y += c.height
		}
	}
	return places, y
}
