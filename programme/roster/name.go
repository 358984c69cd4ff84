package roster

import (
	"strings"
	"unicode"

	"github.com/kitmuster/kitmuster/programme/clean"
	"github.com/kitmuster/kitmuster/programme/match"
	"github.com/kitmuster/kitmuster/programme/table"
)

// suffixes follow a name behind a comma without being a given name.
var suffixes = map[string]bool{"jr": true, "sr": true, "ii": true, "iii": true, "iv": true, "md": true, "phd": true,
	"rn": true, "esq": true, "mba": true, "cpa": true, "dds": true, "bsc": true, "msc": true}

// personName joins a name from its columns or turns "Last, First" round.
func personName(row *table.Row) string {
	if name := clean.Line(row.Text(colName)); name != "" {
		return strings.Clone(turnName(name))
	}
	return clean.Line(row.Text(colFirst) + " " + row.Text(colLast))
}

// turnName turns "Last, First" and "Last, First, Jr." round; a comma before a
// title or suffix alone turns nothing.
func turnName(name string) string {
	parts := strings.Split(name, ",")
	for i := range parts {
		parts[i] = strings.TrimSpace(parts[i])
	}
	if len(parts) == 1 {
		return name
	}
	if suffixes[match.Plain(parts[1])] || parts[1] == "" || parts[0] == "" {
		return clean.Line(strings.Join(parts, " "))
	}
	turned := parts[1] + " " + parts[0]
	return clean.Line(turned + " " + strings.Join(parts[2:], " "))
}

// nameKey returns what makes two writings of a name the same.
func nameKey(name string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsSpace(r) || r == '.' || r == '-' || r == '\'' || r == '’' {
			return -1
		}
		return unicode.ToLower(r)
	}, name)
}
