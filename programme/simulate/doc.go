// Package simulate invents shops, clients and staff, and lets their clothing
// wear out by known rules, so that tests, benchmarks and the demo can compare
// what the program says with what is really so.
//
// Nothing in it touches files, clocks or databases: chance is a source that the
// caller seeds, and dates are arguments, so the same seed gives the same rows.
// All names of businesses, people and places are made up; mail addresses use
// the reserved domain "example" (RFC 2606, section 2).
package simulate
