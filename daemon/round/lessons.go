package round

import (
	"fmt"
	"math"
	"sort"
	"strings"

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
		l, pace := in.Learnt[t.Class], in.Book.UsualPace(t)
		if l.Evidence.Replaced() < lessonEndings || pace <= 0 {
			continue
		}
		if math.Abs(math.Log(l.MedianLife(pace)/t.BaselineLife(pace))) < lessonShift {
			continue
		}
		s := l.Life(pace)
		out = append(out, message.Learnt{
			Client: client.Name, What: briefName(shop, t.Class), Baseline: s.Baseline, Median: s.Washes.Median,
			Low: s.Washes.Low, High: s.Washes.High, Evidence: l.Evidence,
		})
	}
	return out
}

// ClassName calls a class as the shop's catalogue does.
func ClassName(shop *programme.Shop, c wear.Class) string {
	if c.Prints == "" {
		return clothName(shop, c) + ", no print"
	}
	return clothName(shop, c) + ", " + printNames(shop, c.Prints)
}

// briefName leaves open which print it is.
func briefName(shop *programme.Shop, c wear.Class) string {
	if c.Prints == "" {
		return clothName(shop, c)
	}
	return clothName(shop, c) + ", printed"
}

func clothName(shop *programme.Shop, c wear.Class) string {
	name := c.Cloth
	if f, ok := shop.Baselines.Fabric(c.Cloth); ok {
		name = f.Name
	}
	if g, ok := shop.Garment(c.Cloth); ok {
		name = g.Name
	}
	return name
}

// printNames calls the prints of a class by the catalogue's names, equal ones once.
func printNames(shop *programme.Shop, codes string) string {
	var names []string
	times := map[string]int{}
	for code := range strings.SplitSeq(codes, "+") {
		code, fit := strings.CutSuffix(code, " (industrial)")
		name := code
		if d, ok := shop.Baselines.Decoration(code); ok {
			name = strings.ToLower(d.Name[:1]) + d.Name[1:]
		}
		if fit {
			name += " fit for industrial laundry"
		}
		if times[name]++; times[name] == 1 {
			names = append(names, name)
		}
	}
	for i, n := range names {
		if times[n] > 1 {
			names[i] = fmt.Sprintf("%d times %s", times[n], n)
		}
	}
	return strings.Join(names, " and ")
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
	sort.SliceStable(all, func(i, j int) bool { return weight(all[i]) > weight(all[j]) })
	return all[:min(len(all), lessonsTold)]
}
