// Package choose compares garments and kinds of transfer by the cost of wear:
// what a wearer's place in a programme costs a month in the long run, when
// every piece is replaced as it ends.
//
// A piece ends by its cloth, a print, a mishap or its label's limit, whichever
// comes first (the distributions of package wear); a place also needs new pieces when
// its holder leaves. By the renewal theorem a place with life T needs 1/E[T]
// pieces a unit of time in the long run (Cox, Renewal Theory, 1962, cited from
// memory), so cost a month is price over mean life, averaged over what is not
// known of the distributions.
package choose
