package record

import (
	"cmp"
	"slices"
	"strings"

	"github.com/kitmuster/kitmuster/programme"
)

// Named puts the names of people behind their staff numbers in the words of an entry. The store keeps
// those words without names, so that a name that is to be forgotten stands in the roster alone.
func Named(words string, people []programme.Person) string {
	named := slices.DeleteFunc(slices.Clone(people), func(p programme.Person) bool { return p.Name == "" })
	slices.SortFunc(named, func(a, b programme.Person) int { return cmp.Compare(len(b.StaffID), len(a.StaffID)) })
	var out strings.Builder
	for at := 0; at < len(words); {
		if p := personAt(words, at, named); p != nil {
			out.WriteString(who(p))
			at += len(p.StaffID)
			continue
		}
		out.WriteByte(words[at])
		at++
	}
	return out.String()
}

// personAt returns the person whose staff number stands at a place of an entry's words where one can stand:
// at the beginning of a part, or behind whom something was issued to, taken from or counted with. A number
// that counts pieces or entries is none, though somebody may have it.
func personAt(words string, at int, people []programme.Person) *programme.Person {
	before, rest := words[:at], words[at:]
	if before != "" && !slices.ContainsFunc([]string{"; ", " to ", " of ", " with "},
		func(word string) bool { return strings.HasSuffix(before, word) }) {
		return nil
	}
	for i := range people {
		behind, ok := strings.CutPrefix(rest, people[i].StaffID)
		if !ok || behind != "" && behind[0] != ' ' && behind[0] != ':' {
			continue
		}
		if counted := slices.ContainsFunc([]string{" piece", " entr"},
			func(word string) bool { return strings.HasPrefix(behind, word) }); !counted {
			return &people[i]
		}
	}
	return nil
}
