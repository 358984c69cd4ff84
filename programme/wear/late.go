package wear

import (
	"math"
	"slices"

	"github.com/kitmuster/kitmuster/programme"
)

// Late says how far entries of endings lag behind. The zero value is books that
// are kept day by day, or of which nobody knows when rows were entered.
type Late struct {
	// Days is the number of days before the date asked for of which endings may still have to be entered, Share the
	// share of them that have: two numbers that keep the mean and the age of what is probably not entered yet.
	Days  int
	Share float64
	// Within is the days within which nine in ten endings are entered.
	Within int
}

// behind reports that entries lag so far that what is missing at the end of somebody's
// time is as likely late as never to be written down: by a week on average.
func (l *Late) behind() bool { return l.Share*float64(l.Days) >= 7 }

const (
	// latestEntry is the delay from which on an entry is history brought in and not
	// a late one, in days: a quarter.
	latestEntry = 92
	// recentEntries is the number of days back from which delays teach: habits change.
	recentEntries = 400
	// promptEntries are the endings entered on their day that are believed before any
	// delay is seen (common practice, no source).
	promptEntries = 2
)

// lateness learns delays from rows of which the day of entry is known. A delay
// shows only once it is over, so short ones are seen of late endings and long ones
// of early ones alone; the share entered within a delay follows from the reverse-time
// hazard (Lagakos, Barraj and De Gruttola, Biometrika 75 (1988) 515-523).
//
// Some shops enter everything once a month: what happened before the last entries
// was entered with them, so of these endings only the delay after the first
// entries that could have had them counts.
func lateness(moves []*programme.Movement, asOf programme.Date) Late {
	entries, known := entered(moves, asOf)
	if len(entries) == 0 {
		return Late{}
	}
	sittings := sittingsOf(entries)
	whole, after := newDelays(), newDelays()
	for _, m := range entries {
		first := sittings[at(sittings, m.Date)]
		whole.add(m.Entered.Sub(m.Date), known.Sub(m.Date), m.Pieces)
		after.add(m.Entered.Sub(first), known.Sub(first), m.Pieces)
	}
	inTime, inTimeAfter := whole.within(), after.within()
	days, age := 0.0, 0.0
	for back := range latestEntry {
		day := asOf.Add(-back)
		missing := 0.0
		if i := at(sittings, day); i < len(sittings) {
			missing = 1 - inTimeAfter[min(latestEntry, known.Sub(sittings[i]))]
		} else {
			missing = 1 - inTime[min(latestEntry, known.Sub(day))]
		}
		days, age = days+missing, age+missing*(float64(back)+0.5)
	}
	if days < 1 {
		return Late{}
	}
	l := Late{Days: int(math.Ceil(2 * age / days))}
	l.Share = min(1, days/float64(l.Days))
	l.Within = slices.IndexFunc(inTime, func(share float64) bool { return share >= 0.9 })
	return l
}

// entered are the endings that teach delays, and the day up to which entries are
// known. What happened before the first entry of all was brought in with it.
func entered(moves []*programme.Movement, asOf programme.Date) (list []*programme.Movement, known programme.Date) {
	var first programme.Date
	known = asOf
	late := func(m *programme.Movement) bool {
		return m.Kind == programme.Ended && !m.Entered.IsZero() && !m.Reason.StillGood()
	}
	for _, m := range moves {
		known = max(known, m.Entered)
		if late(m) && (first.IsZero() || m.Entered < first) {
			first = m.Entered
		}
	}
	for _, m := range moves {
		if delay := m.Entered.Sub(m.Date); late(m) && m.Date >= first && m.Date > asOf.Add(-recentEntries) &&
			delay >= 0 && delay < latestEntry {
			list = append(list, m)
		}
	}
	return list, known
}

// sittingsOf are the days on which endings were entered, in order.
func sittingsOf(entries []*programme.Movement) []programme.Date {
	out := make([]programme.Date, 0, len(entries))
	for _, m := range entries {
		out = append(out, m.Entered)
	}
	slices.Sort(out)
	return slices.Compact(out)
}

// at is the place of the first of some days that is not before day.
func at(days []programme.Date, day programme.Date) int {
	i, _ := slices.BinarySearch(days, day)
	return i
}

// delays counts delays in days, 0 to latestEntry, and how many could have been so long.
type delays struct{ ended, risk []float64 }

func newDelays() *delays {
	d := &delays{make([]float64, latestEntry+1), make([]float64, latestEntry+2)}
	d.add(0, latestEntry, promptEntries)
	return d
}

// add notes pieces entered after a delay; longer ones than room would not be known yet.
func (d *delays) add(delay, room, pieces int) {
	d.ended[delay] += float64(pieces)
	d.risk[delay] += float64(pieces)
	d.risk[min(room, latestEntry)+1] -= float64(pieces)
}

// within is the share entered within each delay.
func (d *delays) within() []float64 {
	out := make([]float64, latestEntry+1)
	risk := slices.Clone(d.risk)
	for i := 1; i < len(risk); i++ {
		risk[i] += risk[i-1]
	}
	share := 1.0
	for i := latestEntry; i >= 0; i-- {
		out[i] = share
		if d.ended[i] > 0 {
			share *= 1 - d.ended[i]/max(risk[i], d.ended[i])
		}
	}
	return out
}

// Unwritten returns the chances that a piece has ended and no ending of it is on the
// books: never to be, but for a count, and still to be entered. Before and since
// are its cumulative hazards from its last sign of life until late entries begin, and
// from then on; hidden is the share of endings that nobody writes down, late the
// share of the others that are still to be entered.
func Unwritten(before, since, hidden, late float64) (never, toCome float64) {
	if late <= 0 {
		return Gone(before+since, hidden), 0
	}
	a, b := math.Exp(-before), math.Exp(-before-since)
	ended := late * (1 - hidden) * (a - b)
	all := hidden*(1-b) + ended + b
	return hidden * (1 - b) / all, ended / all
}
