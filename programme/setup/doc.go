// Package setup reads and writes what an owner sets up by hand: shop.yaml and
// programmes/CLIENT.yaml.
//
// Every key of both files is one entry of a table (fields_shop.go,
// fields_client.go) that says how it is read, how it is written and what it
// means; reading, writing and the list of known keys cannot drift apart.
// Reading is strict and reports every problem at once, with file, line and the
// nearest known key.
//
// The table stands on the nodes of yaml.v3 and not on its decoding into tagged
// structs. That words its errors for programmers, knows neither the path of a
// value nor what would be right, stops at the first value that a type of ours
// refuses, takes 010 for 8, and can write neither the comments by which an owner
// finds the way in a new file nor only what differs from its default. Here one
// entry says all of it: the key, its help, its limits, its default.
//
//	document.go   bytes to a tree of nodes, and what is refused before a key is read
//	field.go      a table against a mapping: known, missing and double keys; writing
//	value.go      fields of one value: numbers, money, lengths, dates, yes and no
//	text.go       fields of one value: texts, codes, fixed words, mail addresses
//	list.go       fields of several values: lists, groups, names of the owner's own
//	reference.go  what one entry says of another, for check.go
//	settings.go   the same reader for config.yaml, whose keys belong to the daemon
package setup
