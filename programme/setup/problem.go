package setup

import (
	"fmt"
	"strings"

	"github.com/kitmuster/kitmuster/programme/match"
)

// Problem is one thing in a file that must be mended.
type Problem struct {
	File string
	Line int
	// Key is the path of the value: garments[2].sizes[0].cost; may be empty.
	Key string
	// Says is a sentence with what was read and what would be right.
	Says string
}

// Error writes file, line, key and sentence.
func (p Problem) Error() string {
	where := p.File
	if p.Line > 0 {
		where = fmt.Sprintf("%s line %d", p.File, p.Line)
	}
	if p.Key != "" {
		where += ", " + p.Key
	}
	return where + ": " + p.Says
}

// Problems is everything that is wrong with one file, in the file's order.
type Problems []Problem

// Error lists all problems, one a line.
func (ps Problems) Error() string {
	lines := make([]string, len(ps))
	for i, p := range ps {
		lines[i] = p.Error()
	}
	return strings.Join(lines, "\n")
}

// nearest returns the word of list that is closest to word, if one is close
// enough to be a slip of the hand: a third of its letters and one more. Keys are
// few, so more is forgiven than match.Near forgives.
func nearest(word string, list []string) (string, bool) {
	best, at := "", len([]rune(word))/3+2
	for _, w := range list {
		if d := match.Distance(strings.ToLower(word), strings.ToLower(w)); d < at {
			best, at = w, d
		}
	}
	return best, best != ""
}
