// Package study compares ways of ordering on simulated shops of which the
// truth is known: the program's proposals against three habits of the trade.
//
// Habits are given what no shop has: their settings are chosen in hindsight, as
// those that would have cost least on the very shops they are judged on. The
// program's proposals start cold, from the shipped figures, without anything
// learnt from other clients.
package study
