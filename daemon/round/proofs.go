package round

import (
	"fmt"

	"github.com/kitmuster/kitmuster/notify/message"
	"github.com/kitmuster/kitmuster/programme"
)

// fewPictures is the number of warnings about proofs that the owner's mail spells out.
const fewPictures = 5

// unshown tells the owner what the proofs of the round could not show.
func unshown(warnings []string) []message.Trouble {
	var out []message.Trouble
	for _, w := range warnings[:min(len(warnings), fewPictures)] {
		out = append(out, message.Trouble{Kind: programme.OtherTrouble, What: w})
	}
	if more := len(warnings) - fewPictures; more > 0 {
		out = append(out, message.Trouble{
			Kind: programme.OtherTrouble, What: fmt.Sprintf("%d more pictures on the proofs are not as they should be.",
				more),
			Do: "Run kitmuster check: it looks at every picture.",
		})
	}
	return out
}
