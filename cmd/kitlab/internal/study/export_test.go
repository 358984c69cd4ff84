package study

import (
	"github.com/kitmuster/kitmuster/cmd/kitlab/internal/market"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

// WithBlanks is Proposing for a shop with undecorated pieces on its shelf, which its
// orders use up.
func WithBlanks(st *market.Study, subject *market.Subject, blanks map[programme.SKU]int,
	seen func(*reorder.Proposal, *reorder.Decision)) market.Policy {
	return (&proposing{shop: &st.Shop, client: &subject.Client, seen: seen, blanks: blanks}).review
}

// Answered is Proposing to a client who may say yes to other numbers.
func Answered(st *market.Study, subject *market.Subject, answer func(*reorder.Proposal) error) market.Policy {
	return (&proposing{shop: &st.Shop, client: &subject.Client, answer: answer}).review
}
