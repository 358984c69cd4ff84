package ledger

import (
	"strings"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/match"
	"github.com/kitmuster/kitmuster/programme/size"
	"github.com/kitmuster/kitmuster/programme/table"
)

// Catalogue finds garments, colours and sizes by what people write for them.
type Catalogue struct {
	garments *match.Choices
	by       map[string]*garment
}

type garment struct {
	code    string
	family  string
	colours *match.Choices
	sizes   *size.Chart
	// What was written before and found is found again without looking.
	colourOf, sizeOf map[string]string
}

// NewCatalogue takes the garments of a shop.
func NewCatalogue(list []programme.Garment) *Catalogue {
	c := &Catalogue{garments: match.NewChoices(), by: map[string]*garment{}}
	for i := range list {
		g := &list[i]
		c.garments.Add(g.Code, g.Name)
		c.garments.Learn(g.Style, g.Code)
		sizes := make([]string, len(g.Sizes))
		for j, s := range g.Sizes {
			sizes[j] = s.Code
		}
		c.by[g.Code] = &garment{code: g.Code, family: g.SizeFamily, colours: hinted(g.Colours, colourHints),
			sizes: size.NewChart(sizes...), colourOf: map[string]string{}, sizeOf: map[string]string{}}
	}
	return c
}

// garment returns the code of a garment by what people write for it.
func (c *Catalogue) garment(cell string) (code string, ok bool) { return c.garments.Find(cell) }

// Family returns the size family of a garment's code.
func (c *Catalogue) Family(code string) string {
	if g := c.by[code]; g != nil {
		return g.family
	}
	return ""
}

// Wrong says what is wrong with one of three cells.
type Wrong struct {
	Part int    // 0 garment, 1 colour, 2 size
	Want string // ends the sentence
	Near string // the code that is probably meant; "" = none
}

// Find returns the garment, colour and size that three cells say. An empty
// colour or size is taken for the only one where the garment has only one.
func (c *Catalogue) Find(garmentCell, colourCell, sizeCell string) (programme.SKU, *Wrong) {
	g, ok := c.by[garmentCell]
	if !ok {
		code, found := c.garments.Find(garmentCell)
		if !found {
			near, _ := c.garments.Nearest(garmentCell)
			return programme.SKU{}, &Wrong{0, c.garments.Want("garment in the shop's catalogue", garmentCell), near}
		}
		g = c.by[code]
	}
	colour, want := g.colour(colourCell)
	if want != "" {
		near, _ := g.colours.Nearest(colourCell)
		return programme.SKU{}, &Wrong{1, want, near}
	}
	code, want := g.size(sizeCell)
	if want != "" {
		return programme.SKU{}, &Wrong{2, want, ""}
	}
	return programme.SKU{Garment: g.code, Colour: colour, Size: code}, nil
}

// Read returns the garment, colour and size that the cells of three columns say, or
// says in the row what is wrong with one of them. One cell may say all three behind
// slashes, as everywhere else: polo/navy/L. No catalogue takes any words.
func (c *Catalogue) Read(row *table.Row, garment, colour, size int) programme.SKU {
	if c == nil {
		return programme.SKU{Garment: row.Cell(garment).Word(), Colour: row.Cell(colour).Word(),
			Size: row.Cell(size).Word()}
	}
	words, one := c.Words(row, garment, colour, size)
	sku, bad := c.Find(words[0], words[1], words[2])
	switch {
	case bad == nil:
	case one:
		row.Cell(garment).Wrong(bad.Want)
	default:
		row.Cell([]int{garment, colour, size}[bad.Part]).Unknown(bad.Want, bad.Near)
	}
	return sku
}

// Words returns the words for garment, colour and size that the cells of three columns say; one
// reports that the cell of the garment says all three.
func (c *Catalogue) Words(row *table.Row, garment, colour, size int) (words [3]string, one bool) {
	words = [3]string{row.Text(garment), row.Text(colour), row.Text(size)}
	one = strings.Contains(words[0], "/") && words[1]+words[2] == ""
	if one {
		copy(words[:], strings.SplitN(words[0], "/", len(words)))
		for i, column := range []int{garment, colour, size} {
			words[i] = row.Ours(column, strings.TrimSpace(words[i]))
		}
	}
	return words, one
}

func (g *garment) colour(cell string) (code, want string) {
	if code, ok := g.colourOf[cell]; ok {
		return code, ""
	}
	codes := g.colours.Codes()
	code, ok := g.colours.Find(cell)
	switch {
	case ok:
	case cell == "" && len(codes) == 1:
		code = codes[0]
	case cell == "" && len(codes) == 0:
		code = ""
	default:
		return "", g.colours.Want("colour of "+g.code, cell)
	}
	g.colourOf[strings.Clone(cell)] = code
	return code, ""
}

func (g *garment) size(cell string) (code, want string) {
	if code, ok := g.sizeOf[cell]; ok {
		return code, ""
	}
	codes := g.sizes.Codes()
	switch {
	case cell == "" && len(codes) == 1:
		code = codes[0]
	case cell == "":
		return "", "the size is missing; " + g.code + " comes in " + strings.Join(codes, ", ")
	default:
		if code, want = g.sizes.Find(cell); want != "" {
			return "", want + " (" + g.code + ")"
		}
	}
	g.sizeOf[strings.Clone(cell)] = code
	return code, ""
}
