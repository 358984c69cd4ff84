// Package dropfolder takes in files that people put into a folder. A file is
// taken when it has lain unchanged for a while, all of it or nothing, and is
// then moved to done/ or refused/ with a report beside it. No file is overwritten,
// and none is deleted before the names in it are to be forgotten.
package dropfolder

import (
	"fmt"
	"path/filepath"
	"slices"
	"strings"
	"unicode"

	"github.com/kitmuster/kitmuster/programme/clean"
)

// Kind is the kind of list that a file holds.
type Kind string

// Kinds of files.
const (
	Roster Kind = "roster"
	Ledger Kind = "ledger"
	Counts Kind = "counts"
	Stock  Kind = "stock"
	Days   Kind = "day-sheet"
)

// Name holds what the name of a dropped file says: the kind of list and the client.
type Name struct {
	Kind   Kind
	Client string // empty for stock
	Full   bool   // roster--CLIENT--full: the list names everybody
}

// Among returns which of the codes of clients the name means, whatever its case, or with accents as our own
// files are named (cafe-morgenrot for café-morgenrot); -1 = none, or more than one.
func (n Name) Among(codes []string) int {
	if at := slices.IndexFunc(codes, func(c string) bool { return strings.EqualFold(c, n.Client) }); at >= 0 {
		return at
	}
	found := -1
	for i, c := range codes {
		if clean.FileName(c) != clean.FileName(n.Client) {
			continue
		}
		if found >= 0 {
			return -1
		}
		found = i
	}
	return found
}

const howTo = "call it roster--CLIENT.csv, ledger--CLIENT.csv, counts--CLIENT.xlsx, day-sheet--CLIENT.xlsx or stock.csv; roster--CLIENT--full.csv for a list that names everybody; more may follow after a further --"

// ParseName reads KIND--CLIENT[--MORE].csv or .xlsx; upper and lower case are one.
// stock needs no client.
func ParseName(name string) (Name, error) {
	ext := strings.ToLower(filepath.Ext(name))
	switch ext {
	case ".csv", ".tsv", ".txt", ".xlsx":
	default:
		return Name{}, fmt.Errorf("%q is neither .csv nor .xlsx; %s", show(name), howTo)
	}
	parts := strings.Split(name[:len(name)-len(ext)], "--")
	n := Name{Kind: Kind(strings.ToLower(strings.TrimSpace(parts[0])))}
	switch n.Kind {
	case Stock:
		return n, nil
	case Roster, Ledger, Counts, Days:
	default:
		return Name{}, fmt.Errorf("%q does not say what it holds; %s", show(name), howTo)
	}
	if len(parts) > 1 {
		n.Client = strings.ToLower(strings.TrimSpace(parts[1]))
	}
	if n.Client == "" || strings.IndexFunc(n.Client,
		func(r rune) bool { return r == '/' || r == '\\' || unicode.IsControl(r) }) >= 0 {
		return Name{}, fmt.Errorf("%q does not name its client; %s", show(name), howTo)
	}
	for _, more := range parts[2:] {
		n.Full = n.Full || strings.EqualFold(strings.TrimSpace(more), "full")
	}
	return n, nil
}

// passing reports whether a name belongs to a file that some program is still
// writing, or that is none of ours.
func passing(name string) bool {
	lower := strings.ToLower(name)
	if strings.HasPrefix(name, ".") || strings.HasPrefix(name, "~") || strings.HasSuffix(name, "~") {
		return true
	}
	for _, ext := range []string{".part", ".partial", ".tmp", ".temp", ".crdownload", ".filepart",
		".download", ".swp"} {
		if strings.HasSuffix(lower, ext) {
			return true
		}
	}
	return false
}

// show keeps a name from harming a terminal or a mail.
func show(name string) string { return clean.Shown(name, 121) }
