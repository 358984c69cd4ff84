// Package sheet turns needed transfers into the cheapest sheets that print them.
//
// It stands at the end of the house: it takes pieces to press from what was
// reordered, adds the spoilage allowance, takes what is good on the shelf, and
// lays the rest out on fixed sheets (screen-printed kinds: few layouts, many
// identical copies) or on a length of roll (digital kinds: everything once).
// Everything is pure: no clock, no file; the same request gives the same plan,
// to the byte, unless the caller's Stop cuts the search short.
package sheet
