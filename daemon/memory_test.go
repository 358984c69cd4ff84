//go:build !race

package daemon_test

// memoryFactor is how many times its usual memory a process takes in this build.
const memoryFactor = 1
