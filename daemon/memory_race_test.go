//go:build race

package daemon_test

// memoryFactor is how many times its usual memory a process takes in this
// build: the race detector keeps the history of every eight bytes beside them,
// and takes up to ten times the memory (its manual says 5 to 10).
const memoryFactor = 8
