package simulate

import "math"

// Median returns the washes that half of the pieces outlast.
func (l Life) Median() float64 { return l.Scale * math.Pow(math.Ln2, 1/l.Shape) }
