package store

import (
	"fmt"
	"slices"

	"github.com/kitmuster/kitmuster/programme"
)

// Words that the ledger keeps as numbers: the number is the place in the list,
// so a list may only grow at its end. migrations/0002_domain.sql names the first.
var (
	kinds   = []programme.MovementKind{programme.Issued, programme.Ended, programme.Counted}
	reasons = programme.Reasons()
)

// encode returns the number of a word; -1, for a word that is not kept, is
// refused by the table.
func encode[W comparable](list []W, word W) int64 { return int64(slices.Index(list, word)) }

// decode returns the word of a number.
func decode[W any](list []W, code rawNumber) (word W, err error) {
	if code < 0 || int(code) >= len(list) {
		return word, fmt.Errorf("the number %d stands for nothing", code)
	}
	return list[code], nil
}
