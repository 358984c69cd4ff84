package sheet

import "github.com/kitmuster/kitmuster/programme"

// Hands is the work of cutting one layout apart with a trimmer.
type Hands struct {
	// Cuts is their number and Length the length of all of them together.
	Cuts   int
	Length programme.Length
	// Longest is the longest single cut.
	Longest programme.Length
	// Settings is the number of times that the fence is set to another distance.
	Settings int
}

// HandsOf counts the cuts of a trimmer; ok is false when straight cuts do not
// take the layout apart.
func HandsOf(l *Layout) (h Hands, ok bool) {
	cuts, ok := Cuts(l)
	var fence programme.Length
	for _, c := range cuts {
		long := c.X1 - c.X0 + c.Y1 - c.Y0
		h.Cuts++
		h.Length += long
		h.Longest = max(h.Longest, long)
		if c.Fence != fence {
			h.Settings++
			fence = c.Fence
		}
	}
	return h, ok
}
