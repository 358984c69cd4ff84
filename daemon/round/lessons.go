package round

import (
	"cmp"
	"math"
	"slices"

	"github.com/kitmuster/kitmuster/daemon/forecast"
	"github.com/kitmuster/kitmuster/notify/message"
	"github.com/kitmuster/kitmuster/programme"
)

const (
	// lessonEndings is the number of endings that a class needs before its figure is
	// worth telling (trade-facts: replace medians once about 15 replacements
	// of a class are logged; common practice, no source).
	lessonEndings = 15
	// lessonShift is by how much a median must differ from the baseline to be news.
	lessonShift = 0.1
	// lessonsTold bounds the list in the weekly mail.
	lessonsTold = 6
)

// lessons tells where a client's records have moved a wear life clearly away
// from the catalogue's figure.
func lessons(shop *programme.Shop, client *programme.Client, in *forecast.Inspection) []message.Learnt {
	var out []message.Learnt
	for _, t := range in.Book.Classes() {
		l, pace := in.Learnt[t.Class], in.Book.UsualPace(t)
		if l.Evidence.Replaced() < lessonEndings || pace <= 0 {
			continue
		}
		if math.Abs(math.Log(l.MedianLife(pace)/t.BaselineLife(pace))) < lessonShift {
			continue
		}
		life := l.Life(pace)
		out = append(out, message.Learnt{
			Client: client.Name, What: t.Class.BriefName(shop), Baseline: t.BaselineLife(pace), Median: life.Median,
			Low: life.Low, High: life.High, Evidence: l.Evidence,
		})
	}
	return out
}

// newest picks the lessons that say most: far from the baseline on much evidence.
func newest(entries []Entry) []message.Learnt {
	var all []message.Learnt
	for i := range entries {
		all = append(all, entries[i].Learnt...)
	}
	weight := func(l message.Learnt) float64 {
		return math.Abs(math.Log(l.Median/l.Baseline)) * math.Sqrt(float64(l.Evidence.Replaced()))
	}
	slices.SortStableFunc(all, func(a, b message.Learnt) int { return cmp.Compare(weight(b), weight(a)) })
	return all[:min(len(all), lessonsTold)]
}
