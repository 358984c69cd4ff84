// Package replenish decides when to order and how much of each line, where all
// lines of one client share the cost of an order and every review may order
// again. It knows nothing of garments or people: costs and demands come in, a
// plan goes out.
//
// # The problem
//
// At each review: order or not. What is ordered now is there after the lead
// time. Every week each piece that lies costs Keeping and each piece that is
// missing costs Missing; missing pieces are waited for. An order costs Ordering,
// however many lines it has. Sought is the least cost a week.
//
// An order answers for the week that ends lead time and review later, since an
// order of the next review comes too late for it. So the cost of a line at stock
// position y (on hand, on order, less owed) is that of the demand D of those
// weeks, Keeping·E(y−D)⁺ + Missing·E(D−y)⁺.
//
// # The policy
//
// Between two orders the position only falls, so a cycle is one problem of
// stopping: order up to the levels S, then wait until the cost of waiting
// another review exceeds the average cost a week.
//
//   - How much (Best): first the levels of the best rule of the kind "order when
//     so many pieces have been used since the last order, of whatever line". For
//     one line that is the best (s, S) rule, exactly. For several it is the best
//     (Q, S) rule, with each line's use given the total known to its mean and
//     variance; its levels are then improved for the rule below, over futures
//     drawn from a fixed seed (the same problem always gives the same plan).
//   - When (Plan.Wait): from the positions as they are, line by line. Waiting
//     is worth it while for some number of reviews the expected costs until then
//     stay below what a cycle costs on average in that time. Where costs only
//     rise as stock falls, that is the best rule of stopping; recourse during
//     those reviews is left out.
//
// # How far off
//
// The tests compare with exact answers by another road (package exact) and with
// optima that others solved: for one line within rounding of the optimum; for
// two lines that share an order at most 1 %, on average 0.1 %, above the optimum
// of any policy whatsoever. Of more lines no optimum is known to us.
//
// Literature: Scarf 1960 for the form of the rule; Zheng and Federgruen,
// Operations Research 39(4), 1991, 654-665, for one line; Renberg and Planche
// 1967 and Atkins and Iyogun, IIE Transactions 20, 1988, for joint orders (all
// from memory).
package replenish
