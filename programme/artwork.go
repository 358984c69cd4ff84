package programme

import (
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"github.com/kitmuster/kitmuster/programme/lettering"
)

// Artwork is one image; it belongs to one client.
type Artwork struct {
	Code   string
	Client string
	Name   string
	Kind   string // transfer kind code
	Width  Length
	Height Length
	Turn   bool // quarter turns allowed on the sheet
	Inks   int  // ink colours, screen-printed only
	InkSet string
	File   string // picture, relative to shop.yaml; may be empty
	// CoarseAllowed lets a picture below 150 dpi at print size be printed.
	CoarseAllowed bool
	// Sizes are other measures of the image on some sizes of garments; sizes that
	// none names have Width and Height. Each is a transfer of its own.
	Sizes []ArtworkSize
	// Versions are the forms of the image over time, oldest first, each with the day
	// on which the client approved it; none = File is the only one.
	Versions []ArtworkVersion
	// UseUpFormer lets transfers of a former version be used; else they do not count.
	UseUpFormer bool
	// Text says that it is the wearer's name in letters, each name a transfer of its
	// own: Height is the height of a capital, Width the widest that a name may be.
	Text TextRule
	// LetterColour is the colour of the letters, as #rrggbb.
	LetterColour string
	// LeastLetters is the least height of a capital of long names; 0 = UsualLeastLetters.
	LeastLetters Length

	letters *lettering.Line // of one name
}

// ArtworkSize holds the measures of an artwork on some sizes of garments.
type ArtworkSize struct {
	// On is the sizes: one, such as 2XL, or the first and the last of a range, 2XL-5XL.
	On string
	// Scale of width and height, above 0; 0 = Width says it.
	Scale float64
	// Width of the image; its height follows in the artwork's shape.
	Width Length
}

// sized joins the code of an artwork with the sizes of garments it is made for.
const sized = "_"

// Has reports whether a garment's size is one of On. A range holds letter sizes
// between letters and numbers between numbers: 2XL-5XL has 3XL and 3XLT, 36-44
// has 42 and 42/32.
func (s *ArtworkSize) Has(size string) bool {
	if s.On == size {
		return true
	}
	from, to, isRange := strings.Cut(s.On, "-")
	if !isRange {
		return false
	}
	a, letters, ok := sizeRank(from)
	b, lettersToo, okToo := sizeRank(to)
	x, same, known := sizeRank(size)
	return ok && okToo && known && letters == lettersToo && letters == same && a <= x && x <= b
}

// Ranged reports whether On is a size, or a range whose ends are ordered.
func (s *ArtworkSize) Ranged() bool {
	from, to, isRange := strings.Cut(s.On, "-")
	if !isRange {
		return s.On != ""
	}
	a, letters, ok := sizeRank(from)
	b, lettersToo, okToo := sizeRank(to)
	return ok && okToo && letters == lettersToo && a <= b
}

var letterSize = regexp.MustCompile(`^(\d*)(X*)([SML])T?$`)

// sizeRank orders sizes from small to large, letters and numbers each by themselves.
func sizeRank(size string) (rank float64, letters, ok bool) {
	if m := letterSize.FindStringSubmatch(size); m != nil {
		x := float64(len(m[2]))
		if n, err := strconv.Atoi(m[1]); err == nil && x == 1 {
			x = float64(n)
		} else if m[1] != "" {
			return 0, false, false
		}
		switch m[3] {
		case "S":
			return -1 - x, true, true
		case "L":
			return 1 + x, true, true
		}
		return 0, true, x == 0
	}
	number, fraction, _ := strings.Cut(size, " ")
	number, _, _ = strings.Cut(number, "/") // of waist and inseam, the waist
	rank, err := strconv.ParseFloat(number, 64)
	if over, under, ok := strings.Cut(fraction, "/"); ok && err == nil {
		a, errA := strconv.ParseFloat(over, 64)
		b, errB := strconv.ParseFloat(under, 64)
		if errA != nil || errB != nil || b == 0 {
			return 0, false, false
		}
		rank += a / b
	}
	return rank, false, err == nil
}

// on returns the artwork as it is on the sizes of s: with a code, a name and measures of its own.
func (a *Artwork) on(s *ArtworkSize) Artwork {
	out := *a
	out.Sizes = nil
	out.Code = a.Code + sized + s.On
	if a.Name != "" {
		out.Name = a.Name + " " + strings.Replace(s.On, "-", " to ", 1)
	}
	scale := s.Scale
	if scale == 0 {
		scale = float64(s.Width) / float64(a.Width)
	}
	out.Width = Length(math.Round(float64(a.Width) * scale))
	out.Height = Length(math.Round(float64(a.Height) * scale))
	return out
}

// Artwork returns the artwork with that code, be it one as it is on some sizes of
// garments or as it prints a name.
func (s *Shop) Artwork(code string) (*Artwork, bool) {
	if a, ok := s.artwork(code); ok {
		return a, true
	}
	if a, name, ok := s.NameOn(code); ok {
		made, err := a.Named(name)
		return &made, err == nil
	}
	for i := range s.Artworks {
		a := &s.Artworks[i]
		on, ok := strings.CutPrefix(code, a.Code+sized)
		if !ok {
			continue
		}
		for j := range a.Sizes {
			if a.Sizes[j].On == on {
				made := a.on(&a.Sizes[j])
				return &made, true
			}
		}
	}
	return nil, false
}

// artworkIndex is the place of each code in a list of artworks.
type artworkIndex struct {
	of []Artwork
	at map[string]int
}

// IndexArtworks makes the artworks that the shop has now quick to find: one with a thousand
// clients has thousands, and a round asks for them a million times. It is for whoever makes a
// shop: one that several goroutines read already must not be written.
func (s *Shop) IndexArtworks() {
	s.index = &artworkIndex{s.Artworks, make(map[string]int, len(s.Artworks))}
	for i := range slices.Backward(s.Artworks) { // of equal codes the first is found
		s.index.at[s.Artworks[i].Code] = i
	}
}

// artwork returns the artwork of the list with that code. An index of another list is passed over.
func (s *Shop) artwork(code string) (*Artwork, bool) {
	if x := s.index; x != nil && len(s.Artworks) > 0 && len(x.of) == len(s.Artworks) && &x.of[0] == &s.Artworks[0] {
		i, ok := x.at[code]
		if !ok {
			return nil, false
		}
		return &s.Artworks[i], true
	}
	return find(s.Artworks, func(a *Artwork) bool { return a.Code == code })
}

// Transfers returns every image that is printed whoever wears it: each artwork, and
// behind it as it is on the sizes of garments for which it has measures of its own.
func (s *Shop) Transfers() []Artwork {
	out := make([]Artwork, 0, len(s.Artworks))
	for i := range s.Artworks {
		a := &s.Artworks[i]
		if a.Text != NoText {
			continue
		}
		out = append(out, *a)
		for j := range a.Sizes {
			out = append(out, a.on(&a.Sizes[j]))
		}
	}
	return out
}

// Fitted returns decorations with their artworks as they are on a size of garment.
func (s *Shop) Fitted(list []Decoration, size string) []Decoration {
	var out []Decoration
	for i, d := range list {
		a, ok := s.Artwork(d.Artwork)
		if !ok {
			continue
		}
		for j := range a.Sizes {
			if a.Sizes[j].Has(size) {
				if out == nil {
					out = append(out, list...)
				}
				out[i].Artwork = a.Code + sized + a.Sizes[j].On
				break
			}
		}
	}
	if out == nil {
		return list
	}
	return out
}
