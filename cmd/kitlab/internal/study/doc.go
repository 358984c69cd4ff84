// Package study compares ways of ordering on simulated shops of which the
// truth is known: the program's proposals against a rule of order point and
// order-up-to level, and against three habits of the trade.
//
// The others are given what no shop has: each of their settings is chosen in
// hindsight, as the one that would have cost least on the very shops they are
// judged on, in handling (see market.Score). The program's proposals start
// cold, from the shipped figures, without anything learnt from other clients, and
// with the costs of the shop as they are.
package study
