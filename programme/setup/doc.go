// Package setup reads and writes what an owner sets up by hand: shop.yaml and
// programmes/CLIENT.yaml.
//
// Every key of both files is one entry of a table (fields_shop.go,
// fields_client.go) that says how it is read, how it is written and what it
// means; reading, writing and the list of known keys cannot drift apart.
// Reading is strict and reports every problem at once, with file, line and the
// nearest known key.
package setup
