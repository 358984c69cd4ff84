// Package demand tells how many pieces a client will need: for every garment,
// colour and size the whole distribution, from the pieces in service, what is
// known of their lives, who may leave and who will join.
//
// Given the life parameters, endings are independent with known chances and
// are counted exactly, renewals included. What is not known of the parameters
// is common to a class of pieces and is averaged over last, so that counts are
// as wide as they must be, in one line and in the sum of all. Nothing is
// simulated.
package demand
