package setup

import (
	"fmt"
	"strings"
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
// enough to be a slip of the hand (Levenshtein distance of a third of its letters).
func nearest(word string, list []string) (string, bool) {
	best, at := "", len([]rune(word))/3+2
	for _, w := range list {
		if d := distance(strings.ToLower(word), strings.ToLower(w)); d < at {
			best, at = w, d
		}
	}
	return best, best != ""
}

// distance is the Levenshtein distance in runes.
func distance(a, b string) int {
	x, y := []rune(a), []rune(b)
	row := make([]int, len(y)+1)
	for j := range row {
		row[j] = j
	}
	for i := range x {
		last := row[0]
		row[0] = i + 1
		for j := range y {
			cost := last
			if x[i] != y[j] {
				cost = 1 + min(last, row[j], row[j+1])
			}
			last, row[j+1] = row[j+1], cost
		}
	}
	return row[len(y)]
}
