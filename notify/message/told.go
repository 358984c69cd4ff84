package message

import (
	"crypto/sha256"
	"encoding/hex"
	"slices"

	"github.com/kitmuster/kitmuster/notify/page"
)

// news returns the lines that the last round has not told word for word, and
// notes all of them as told: what stays as it is stays told.
func (r *Round) news(m *Mail, lines []string) []string {
	var fresh []string
	for _, l := range lines {
		mark := markOf(l)
		m.Told = append(m.Told, mark)
		if !slices.Contains(r.Told, mark) {
			fresh = append(fresh, l)
		}
	}
	return fresh
}

// markOf returns a hash by which a line is known again without keeping its words, which may hold names.
func markOf(line string) string {
	sum := sha256.Sum256([]byte(line))
	return hex.EncodeToString(sum[:8])
}

// decideAgain counts the decisions that were asked before in the same words.
func decideAgain(p *page.Page, n int) {
	if n > 0 {
		verb := "wait"
		if n == 1 {
			verb = "waits"
		}
		p.Aside("%d more %s as told before: kitmuster proposal list, kitmuster held.", n, verb)
	}
}
