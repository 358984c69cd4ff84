package main

import (
	"io"
	"os"
	"strconv"

	"golang.org/x/term"

	"github.com/kitmuster/kitmuster/notify/page"
)

// screen is a terminal on which sentences are folded at their spaces. What has lines of its
// own, such as a table, a list or JSON, goes to the bare file.
type screen struct {
	file    *os.File
	columns int
	folder  page.Folder
}

// onScreen returns w, folded where it is a terminal.
func onScreen(w io.Writer) io.Writer {
	f, ok := w.(*os.File)
	if !ok || !term.IsTerminal(int(f.Fd())) {
		return w
	}
	columns := columnsOf(f)
	return &screen{file: f, columns: columns, folder: page.Folder{Columns: min(columns, page.ScreenWidth)}}
}

// Write folds what has more letters than the terminal has columns.
func (s *screen) Write(b []byte) (int, error) {
	if _, err := io.WriteString(s.file, s.folder.Fold(string(b))); err != nil {
		return 0, err
	}
	return len(b), nil
}

// unfolded returns what w writes to without folding.
func unfolded(w io.Writer) io.Writer {
	if s, ok := w.(*screen); ok {
		return s.file
	}
	return w
}

// usualWidth is the width of a terminal that does not tell its own: 80 columns,
// those of the VT100 (DEC, VT100 User Guide, 1978).
const usualWidth = 80

// columnsOf returns the columns of a terminal. What the variable COLUMNS says goes first
// (POSIX.1-2024, Base Definitions, section 8.3).
func columnsOf(terminal *os.File) int {
	if n, err := strconv.Atoi(os.Getenv("COLUMNS")); err == nil && n > 0 {
		return n
	}
	if n, _, err := term.GetSize(int(terminal.Fd())); err == nil && n > 0 {
		return n
	}
	return usualWidth
}
