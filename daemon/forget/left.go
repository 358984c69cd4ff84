package forget

import (
	"slices"
	"strings"
	"time"

	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/programme/match"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

// left are the people of one client whose names are kept no longer, those
// included who are forgotten already.
type left struct {
	client  string
	leavers []store.Leaver
}

// fresh reports whether somebody is not forgotten yet.
func (l *left) fresh() bool {
	return slices.ContainsFunc(l.leavers, func(p store.Leaver) bool { return !p.Forgotten })
}

// namedUntil returns until when what was written to the client may name one of them.
func (l *left) namedUntil() time.Time {
	var last time.Time
	for i := range l.leavers {
		if until := l.leavers[i].NamedUntil; until.After(last) {
			last = until
		}
	}
	return last
}

// named reports whether a proposal has pieces for one of them.
func (l *left) named(p *reorder.Proposal) bool {
	return slices.ContainsFunc(p.Named, func(n reorder.Named) bool {
		return slices.ContainsFunc(l.leavers, func(x store.Leaver) bool { return x.StaffID == n.StaffID })
	})
}

// names returns, for each who is not forgotten yet, the words of the name as
// match.Plain writes them.
func (l *left) names() [][]string {
	var all [][]string
	for i := range l.leavers {
		var words []string
		for w := range strings.FieldsSeq(l.leavers[i].Name) {
			if w = match.Plain(w); w != "" {
				words = append(words, w)
			}
		}
		if len(words) > 0 {
			all = append(all, words)
		}
	}
	return all
}

// says reports whether a text has every word of one of the names, wherever they
// stand: lists write first and last names in columns of their own, in any order.
// It may find a name that is not there, made of the words of two others.
func says(text string, names [][]string) bool {
	plain := match.Plain(text)
	return slices.ContainsFunc(names, func(words []string) bool {
		return !slices.ContainsFunc(words, func(w string) bool { return !strings.Contains(plain, w) })
	})
}
