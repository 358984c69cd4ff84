// Package programme holds the words of the trade as types: what a shop sells
// and buys, what a client has agreed, who wears it, and every piece that moved.
//
// Values here carry their units in their types (Length, Money, Temperature,
// Date) and know nothing of files, databases, clocks or mail. The packages
// below compute on them in one direction: wear, demand, reorder, sheet.
package programme
