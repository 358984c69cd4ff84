package programme

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"github.com/kitmuster/kitmuster/programme/lettering"
)

// TextRule says which name of its wearer an artwork prints.
type TextRule string

// Rules of names; NoText is an artwork with a picture.
const (
	NoText    TextRule = ""
	FirstName TextRule = "first-name"
	LastName  TextRule = "last-name"
	FullName  TextRule = "full-name"
	// PrintName takes nothing but what the roster states as print_name.
	PrintName TextRule = "print-name"
)

// NothingPrinted stands as the PrintName of somebody who wants no name on garments.
const NothingPrinted = "-"

// UsualLeastLetters is the least height of a capital letter that a name is set in
// where the shop does not say (common practice, no source).
const UsualLeastLetters = 5 * Millimetre

// named joins the code of an artwork of names with a name. No code has the sign.
const named = "="

// leastLetters is the least height of a capital letter.
func (a *Artwork) leastLetters() Length {
	if a.LeastLetters > 0 {
		return a.LeastLetters
	}
	return min(UsualLeastLetters, a.Height)
}

// Named returns the artwork as it prints one name: as wide and high as its letters
// are. They are as high as the artwork, or smaller where the name would be wider than it.
func (a *Artwork) Named(name string) (Artwork, error) {
	line, err := lettering.Set(name)
	if err != nil {
		return Artwork{}, err
	}
	capital := min(float64(a.Height), float64(a.Width)/line.Width)
	if capital < float64(a.leastLetters()) {
		return Artwork{}, fmt.Errorf("%q is too long for its place even in the smallest letters allowed", name)
	}
	out := *a
	out.Code = a.CodeFor(line.Text)
	out.Name = a.Called() + " “" + line.Text + "”"
	out.Width, out.Height = Length(capital*line.Width+0.5), Length(capital*line.Height+0.5)
	out.letters = line
	return out, nil
}

// Letters is the picture of an artwork that prints a name.
func (a *Artwork) Letters() (svg []byte, ok bool) {
	if a.letters == nil {
		return nil, false
	}
	return a.letters.SVG(a.LetterColour), true
}

// Spoilage returns the share of transfers to print beyond those needed, since some are
// spoilt in the press: 0 for names, since a spare one would be of use to nobody else.
func (a *Artwork) Spoilage(k *TransferKind) float64 {
	if a.Text != NoText {
		return 0
	}
	return k.Spoilage
}

// CodeFor returns the code of the artwork as it prints one name.
func (a *Artwork) CodeFor(name string) string { return a.Code + named + name }

// NameOn parts a code that CodeFor made into artwork and name; ok is false for the code of a picture.
func (s *Shop) NameOn(code string) (artwork *Artwork, name string, ok bool) {
	of, name, ok := strings.Cut(code, named)
	if !ok {
		return nil, "", false
	}
	artwork, ok = find(s.Artworks, func(a *Artwork) bool { return a.Code == of && a.Text != NoText })
	return artwork, name, ok
}

// NameFor returns what the artwork prints for a person; nothing where the person wants
// none. The error says what is in the way and belongs behind the person's name.
func (a *Artwork) NameFor(p *Person) (name string, err error) {
	switch {
	case p.PrintName == NothingPrinted:
		return "", nil
	case p.PrintName != "":
		name = p.PrintName
	case a.Text == PrintName:
		return "", errors.New("the staff list states no print_name")
	default:
		if name, err = a.Text.of(p.Name); err != nil {
			return "", err
		}
	}
	name = lettering.Normal(name)
	_, err = a.Named(name)
	return name, err
}

// of picks the part of a whole name that the rule asks for. Titles and suffixes
// (Dr., Jr.) and another spelling in brackets belong to neither first nor last name;
// small words before the last (van der) belong to it.
func (r TextRule) of(whole string) (string, error) {
	whole, _, _ = strings.Cut(whole, "(")
	words := strings.Fields(whole)
	if len(words) == 0 {
		return "", errors.New("no name is kept")
	}
	if r == FullName {
		return strings.Join(words, " "), nil
	}
	kept := slices.DeleteFunc(slices.Clone(words),
		func(w string) bool { return strings.HasSuffix(w, ".") && utf8.RuneCountInString(w) > 2 })
	if len(kept) == 0 {
		kept = words
	}
	part := kept[0]
	if r == LastName {
		at := len(kept) - 1
		for i := 1; i < len(kept); i++ {
			if first, _ := utf8.DecodeRuneInString(kept[i]); unicode.IsLower(first) {
				at = i
				break
			}
		}
		part = strings.Join(kept[at:], " ")
	}
	if utf8.RuneCountInString(strings.TrimSuffix(part, ".")) < 2 {
		return "", fmt.Errorf("%q is an initial and no name", part)
	}
	return part, nil
}

// DecorationsOf returns what a piece for a person carries: the decorations of the person's role,
// with the person's own name where it has names. A piece for nobody (nil) carries no
// name, nor does one of a person whose name cannot be printed, see Unprintable. Sure is
// as Decorations says.
func (c *Client) DecorationsOf(shop *Shop, p *Person, k SKU) (list []Decoration, sure bool) {
	role := ""
	if p != nil {
		role = p.Role
	}
	list, sure = c.Decorations(shop, role, k)
	isName := func(d Decoration) bool { a, ok := shop.Artwork(d.Artwork); return ok && a.Text != NoText }
	if !slices.ContainsFunc(list, isName) {
		return list, sure
	}
	var out []Decoration
	for _, d := range list {
		a, ok := shop.Artwork(d.Artwork)
		if ok && a.Text != NoText {
			if p == nil {
				continue
			}
			name, err := a.NameFor(p)
			if err != nil || name == "" {
				continue
			}
			d.Artwork = a.CodeFor(name)
		}
		out = append(out, d)
	}
	return out, sure
}

// Named reports whether pieces for a role carry a name; they are no one else's, and
// are not handed to another wearer.
func (c *Client) Named(shop *Shop, role string, k SKU) bool {
	list, _ := c.decorations(role, k)
	return slices.ContainsFunc(list,
		func(d Decoration) bool { a, ok := shop.Artwork(d.Artwork); return ok && a.Text != NoText })
}

// NoName is a person whose name cannot be printed, and why.
type NoName struct {
	Person *Person
	// Garment is what the name would be on.
	Garment string
	Why     error
}

// Unprintable returns, for each garment of their kits, whom to ask for the name on it,
// of those who are there after a day: theirs cannot be told, is too long, or has letters
// that the fonts lack.
func (c *Client) Unprintable(shop *Shop, people Roster, after Date) (out []NoName) {
	type lettered struct {
		artwork *Artwork
		garment string
	}
	named := map[string][]lettered{} // by role: few have any
	for i := range c.Roles {
		for _, k := range c.Roles[i].Kit {
			for _, d := range k.Decorations {
				if a, ok := shop.Artwork(d.Artwork); ok && a.Text != NoText {
					named[c.Roles[i].Code] = append(named[c.Roles[i].Code], lettered{a, k.Garment})
				}
			}
		}
	}
	for i := range people {
		p := &people[i]
		if !p.End.IsZero() && p.End <= after {
			continue
		}
		for _, n := range named[p.Role] {
			if _, err := n.artwork.NameFor(p); err != nil {
				out = append(out, NoName{Person: p, Garment: n.garment, Why: err})
			}
		}
	}
	return out
}
