package study

import (
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/reorder"
	"github.com/kitmuster/kitmuster/programme/simulate"
)

// WithBlanks is Proposing for a shop with undecorated pieces on its shelf, which its
// orders use up.
func WithBlanks(st *simulate.Study, subject *simulate.Subject, blanks map[programme.SKU]int, seen func(*reorder.Proposal, *reorder.Decision)) simulate.Policy {
	return &proposing{shop: &st.Shop, client: &subject.Client, seen: seen, blanks: blanks}
}
