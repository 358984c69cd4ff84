// Package calibrate asks whether the forecast's intervals hold: it invents
// clients whose truth is drawn from what the forecast believes before any
// record (or off it by a stated factor), lets them live for some years with a
// ledger, forecasts, and compares what then comes with what was claimed.
//
// Counts are whole numbers, so an "80 %" interval truly claims more; the claim
// of the distribution for its own interval is compared with what came. The
// randomised probability integral transform must be flat.
package calibrate
