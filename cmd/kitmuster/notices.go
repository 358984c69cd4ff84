package main

import _ "embed"

// notices holds the licences of everything that is linked into the program: of
// its modules, of the fonts in them, and of Go. A test writes it from the
// module cache, and compares it with what a build really links.
//
//go:embed notices.txt
var notices string
