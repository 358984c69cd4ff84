// Package replay asks what a forecast would have said on past dates, from what
// was known then and nothing later, and compares it with what came.
//
// Beside the program's forecast stand three rules of thumb on the same
// records: a calendar rule, last year's rate, and the mean of twelve weeks. A
// rule of thumb gives one number; it is given a Poisson spread around that
// number, so that it has intervals to be judged by. That is kinder than the
// bare number.
package replay
