package round

import (
	"math"
	"sort"

	"github.com/kitmuster/kitmuster/notify/message"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/wear"
)

const (
	// lessonEndings is how many endings a class needs before its figure is
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
func lessons(shop *programme.Shop, client *programme.Client, in *Inspection) []message.Learnt {
	var out []message.Learnt
	for _, t := range in.Book.Classes() {
		l := in.Learnt[t.Class]
		median := l.Cloth.MedianQuantile(0.5)
		baseline := t.Cloth.Baseline.Median()
		if l.Evidence.Replaced() < lessonEndings || math.Abs(math.Log(median/baseline)) < lessonShift {
			continue
		}
		out = append(out, message.Learnt{
			Client: client.Name, What: clothName(shop, t), Baseline: baseline, Median: median,
			Low: l.Cloth.MedianQuantile(0.1), High: l.Cloth.MedianQuantile(0.9), Endings: l.Evidence.Replaced(),
		})
	}
	return out
}

// clothName calls a class as the catalogue does.
func clothName(shop *programme.Shop, t *wear.Terms) string {
	if f, ok := shop.Baselines.Fabric(t.Cloth.Code); ok {
		return f.Name
	}
	if g, ok := shop.Garment(t.Cloth.Code); ok {
		return g.Name
	}
	return t.Cloth.Code
}

// newest picks the lessons that say most: far from the baseline on much evidence.
func newest(entries []Entry) []message.Learnt {
	var all []message.Learnt
	for i := range entries {
		all = append(all, entries[i].Learnt...)
	}
	weight := func(l message.Learnt) float64 {
		return math.Abs(math.Log(l.Median/l.Baseline)) * math.Sqrt(float64(l.Endings))
	}
	sort.SliceStable(all, func(i, j int) bool { return weight(all[i]) > weight(all[j]) })
	return all[:min(len(all), lessonsTold)]
}
