package wear

// Bisect returns bounds on where below turns from true to false, once, between lo and hi; each step halves what
// lies between them.
func Bisect(lo, hi float64, steps int, below func(x float64) bool) (float64, float64) {
	for range steps {
		if mid := (lo + hi) / 2; below(mid) {
			lo = mid
		} else {
			hi = mid
		}
	}
	return lo, hi
}
