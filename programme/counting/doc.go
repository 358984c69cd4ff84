// Package counting decides which people and garments are worth counting before
// an order: by what the count would save, drawn from what may be missing unseen
// and the order worked out again, less the minutes that it takes.
package counting
