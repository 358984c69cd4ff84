package table

import "fmt"

// Limits of what is read, so that no file can make the program use more than
// some 700 MB. A list of a million movements has some 80 MB; a sheet of a
// spreadsheet has at most 1,048,576 rows.
const (
	MaxBytes     = 128 << 20
	maxRows      = 1_500_000
	maxColumns   = 1000
	maxCells     = 15_000_000 // of a workbook, all sheets together
	maxCellText  = 96 << 20   // bytes of all cells of a workbook
	maxLineBytes = 1 << 20
	// maxForeign is for text in another alphabet than UTF-8: it grows up to
	// threefold when it is turned into that.
	maxForeign = MaxBytes / 3
)

// tooWide returns the sentence about a line with more cells than a list has columns.
func tooWide(file string, line, cells int) *Error {
	return &Error{File: file, Line: line, Want: fmt.Sprintf("the line has %d cells and a list at most %d; take out what stands far to the right of the list", cells, maxColumns)}
}

// tooLong returns the sentence about a list with more rows than can be read at once.
func tooLong(file string, line int) *Error {
	return &Error{File: file, Line: line, Want: fmt.Sprintf("the list goes on beyond %d rows; split it", maxRows)}
}

// tooForeign returns the sentence about a long text that is not UTF-8.
func tooForeign(file string) *Error {
	return &Error{File: file, Want: fmt.Sprintf("the file is larger than %d MB and not in UTF-8; save it as \"CSV UTF-8\", or split it", maxForeign>>20)}
}
