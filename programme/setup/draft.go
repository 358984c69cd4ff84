package setup

import (
	"bytes"
	"fmt"
	"strings"

	"github.com/kitmuster/kitmuster/programme/draft"
)

// WriteDraft writes a drafted programme with its reasons, advice and cautions
// as comments above it. ReadClient reads it once its artworks are in shop.yaml.
func WriteDraft(d *draft.Draft) []byte {
	var b bytes.Buffer
	section := func(title string, says []string) {
		if len(says) == 0 {
			return
		}
		fmt.Fprintf(&b, "# %s\n", title)
		for _, s := range says {
			comment(&b, s)
		}
		b.WriteString("#\n")
	}
	b.WriteString("# A draft from the intake sheet: read it, change what you know better, then apply it.\n#\n")
	section("Why these garments:", reasons(d))
	section("What to print where:", d.Printing)
	section("Washing, to tell the client:", d.Washing)
	section("Cautions:", d.Cautions)
	section("Missing in your catalogue:", d.Missing)
	b.WriteString("\n")
	b.Write(WriteClient(&d.Client))
	return b.Bytes()
}

func reasons(d *draft.Draft) []string {
	var says []string
	seen := map[string]bool{}
	for _, p := range d.Garments {
		if s := fmt.Sprintf("%s (%s): %s", p.What, p.Garment, p.Why); !seen[s] {
			seen[s] = true
			says = append(says, s)
		}
	}
	return says
}

// comment writes one point as comment lines of at most about 100 letters.
func comment(b *bytes.Buffer, s string) {
	line := "# -"
	for word := range strings.FieldsSeq(s) {
		if len(line)+1+len(word) > 100 {
			b.WriteString(line + "\n")
			line = "#  "
		}
		line += " " + word
	}
	b.WriteString(line + "\n")
}
