// Package wear tells how long pieces last: washes from records and rotation,
// causes of ending, and what the records teach about them.
//
// A life is counted in washes. Cloth and every print end it by a Weibull distribution,
// mishaps by a constant rate in days; the first to come ends the piece. Records
// say when and why (exact), only that it happened between two dates (interval)
// or that the piece still serves (right), and lives begun before the records
// are left-truncated. What they teach is kept as a Posterior, a small mixture
// of Gamma distributions that has no Monte Carlo noise and does not overflow however
// many pieces it has seen.
package wear
