// Package draft turns an intake sheet (what a business does, where, how dirty,
// how its clothing is washed, who is seen by customers) into a draft
// programme: garments from the shop's catalogue with the reason for each,
// roles and kits, what to print where, laundering advice, cost a head by
// option, and cautions. It is a first proposal that the owner edits.
//
// Its rules are common practice of the trade without a source, except where
// one is named.
package draft
