package setup

import (
	"bytes"
	"fmt"
	"slices"
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
	b.WriteString("# What the customer pays for a decorated piece; without it no price or margin can be stated. Take\n# these lines off their # and put yours in:\n# prices:\n")
	for _, code := range garments(d) {
		fmt.Fprintf(&b, "#   - {garment: %s, price: }\n", code)
	}
	b.WriteString("\n")
	b.Write(WriteClient(&d.Client))
	return b.Bytes()
}

// garments returns the codes of all kits, each once.
func garments(d *draft.Draft) []string {
	var codes []string
	for i := range d.Client.Roles {
		for _, l := range d.Client.Roles[i].Kit {
			if !slices.Contains(codes, l.Garment) {
				codes = append(codes, l.Garment)
			}
		}
	}
	return codes
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
