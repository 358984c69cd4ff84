// Package reorder decides when a client is due and what to order: whether the
// stock lasts until an order placed at the next round would arrive, and if
// not, the pieces that take away most expected shortage for the money. It only
// computes: what the records say comes in, a proposal with its reasons goes out.
package reorder
