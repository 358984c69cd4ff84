package demand

import "github.com/kitmuster/kitmuster/programme/wear"

// renewing holds the expected renewals of one line by pieces worn alike.
type renewing struct {
	line  int
	later *later // what takes the line's place when the kit changes
	class wear.Class
	rot   Rotation
	at    *presence // nil for all who are always there
}

// expect fills weekly means and chances of pieces; it returns expected first
// endings by class and cause over all weeks.
func (f *forecast) expect(weeks int) map[wear.Class]byCause {
	f.weekly = make([][]byCause, len(f.lines))
	for i := range f.weekly {
		f.weekly[i] = make([]byCause, weeks)
	}
	f.pEnd = make([][]float64, len(f.holders))
	firsts := map[renewing][]float64{}
	var order []renewing
	totals := map[wear.Class]byCause{}
	for i := range f.holders {
		h := &f.holders[i]
		key := renewing{f.at[h.sku], h.later, h.use.Class.Class, h.rot, h.present}
		if firsts[key] == nil {
			firsts[key] = make([]float64, weeks)
			order = append(order, key)
		}
		total := totals[key.class]
		f.pEnd[i] = f.expectHolder(h, firsts[key], &total)
		totals[key.class] = total
	}
	for _, key := range order {
		f.renew(key, firsts[key])
	}
	return totals
}

// expectHolder adds a holder's expected first endings by week: to first and
// weekly those that need replacing, to total all. It returns, by piece, the
// chance of an ending that needs replacing within the days of the forecast.
func (f *forecast) expectHolder(h *holder, first []float64, total *byCause) []float64 {
	duties := f.dutiesOf(h, len(first))
	pEnd := make([]float64, len(h.pieces))
	share := 1.0
	if n := len(h.pieces); h.surplus > 0 {
		share = float64(n-h.surplus) / float64(n)
	}
	variants, weights := h.variants()
	for v, x := range variants {
		for i, ahead := range f.aheadOf(x) {
			for w := range ahead.weekly {
				m, d := &ahead.weekly[w], &duties[w]
				for c, x := range m {
					total[c] += weights[v] * x
				}
				if d.line < 0 {
					continue
				}
				there := weights[v] * d.there
				needs := &f.weekly[d.line][d.week]
				for c, x := range m {
					needs[c] += share * there * x
				}
				all := m.sum()
				first[d.week] += share * there * all
				pEnd[i] += there * all * d.part
			}
		}
	}
	return pEnd
}

// duty says what an ending of one of a holder's pieces in a week asks for: a piece of a line in a week, with the chance
// that the holder is there, and the part of that week that is looked at. No line (-1): nothing.
type duty struct {
	line, week  int
	there, part float64
}

// dutiesOf returns a holder's duties by the week of the ending, valid until the next call.
func (f *forecast) dutiesOf(h *holder, weeks int) []duty {
	line, waits := f.at[h.sku], 0
	if !h.due.IsZero() {
		waits = (h.due.Sub(f.in.AsOf) - 1) / 7
	}
	f.duties = f.duties[:0]
	for w := range weeks {
		d := duty{line: -1, week: max(w, waits)}
		if !h.outgrown && d.week < weeks {
			d.line = h.later.lineIn(d.week, line)
			d.there, d.part = f.there(h, w), f.part(f.days, d.week)
		}
		f.duties = append(f.duties, d)
	}
	return f.duties
}

// aheadOf returns what lies ahead of each of a holder's pieces.
func (f *forecast) aheadOf(h *holder) []*prospect {
	if h.ahead != nil {
		return h.ahead
	}
	p := f.predictors[h.use.Class.Class]
	if h.manyKindred() {
		p.tabulate(h.rot)
	}
	h.ahead = make([]*prospect, len(h.pieces))
	for i := range h.pieces {
		h.ahead[i] = p.prospectOf(h.ages[i], h.rot, h.unseen[i], h.present)
	}
	return h.ahead
}

// there returns the chance that a holder is still there in the middle of week w (0 = first).
func (f *forecast) there(h *holder, w int) float64 {
	if !h.lastDay.IsZero() {
		return min(1, max(0, float64(h.lastDay-f.in.AsOf)/7-float64(w)))
	}
	return f.stays[h.resizes][w]
}

// part returns the share of week w that lies within a number of days.
func (f *forecast) part(days, w int) float64 { return min(1, max(0, float64(days-7*w)/7)) }

// renew adds the endings of replacements: whatever ends in a week is replaced in it.
func (f *forecast) renew(key renewing, first []float64) {
	again := f.predictors[key.class].renewedWeekly(key.rot)
	weeks := len(first)
	for w, m := range first {
		if m == 0 {
			continue
		}
		after := again
		if key.at != nil {
			after = key.at.renewedWhile(again, w)
		}
		for d := 0; w+d < weeks; d++ {
			by := key.later.lineIn(w+d, key.line)
			if by < 0 {
				break
			}
			weekly := f.weekly[by]
			for c, x := range after[d] {
				weekly[w+d][c] += m * x
			}
		}
	}
}
