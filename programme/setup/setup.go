package setup

import (
	"bytes"
	"cmp"
	"fmt"
	"math"
	"slices"

	"go.yaml.in/yaml/v3"

	"github.com/kitmuster/kitmuster/programme"
)

// ReadShop reads a shop.yaml; file names it in errors. The error, when not
// nil, is of type Problems and holds everything that must be mended.
func ReadShop(file string, text []byte) (*programme.Shop, error) {
	shop, err := read(file, text, shopFields(), freshShop(), checkShop)
	shop.IndexArtworks()
	return shop, err
}

// ReadClient reads a programme against the shop's catalogue; file names it in
// errors, which are of type Problems.
func ReadClient(file string, text []byte, shop *programme.Shop) (*programme.Client, error) {
	return read(file, text, clientFields(), freshClient(),
		func(r *reader, root *yaml.Node, c *programme.Client) { checkClient(r, root, c, shop) })
}

// read reads a file by its table into what holds where the file says nothing, and
// checks what is left where every key could be read.
func read[T any](file string, text []byte, table []field[T], into T, check func(*reader, *yaml.Node, *T)) (*T, error) {
	r := &reader{file: file}
	root := r.document(text)
	if root != nil {
		mapping(r, root, "", table, &into)
	}
	if len(r.problems) == 0 {
		check(r, root, &into)
	}
	return &into, r.err()
}

func (r *reader) err() error {
	if len(r.problems) == 0 {
		return nil
	}
	slices.SortStableFunc(r.problems, func(a, b Problem) int { return cmp.Compare(a.Line, b.Line) })
	return r.problems
}

// WriteShop writes a shop.yaml with comments that ReadShop reads back to the same value.
func WriteShop(shop *programme.Shop) []byte {
	root := encode(shopFields(), shop, false)
	if shop.Units.Metric() {
		inCelsius(root)
	}
	return write("What the shop sells, buys and presses with. 'kitmuster check' reads it and says what is wrong.", root)
}

// inCelsius writes the temperatures of a tree as they are read where lengths are metric,
// as far as that is a whole number of degrees.
func inCelsius(n *yaml.Node) {
	for i, x := range n.Content {
		if inCelsius(x); n.Kind != yaml.MappingNode || i%2 == 0 || n.Content[i-1].Value != "temperature" &&
			n.Content[i-1].Value != "polyester_limit" {
			continue
		}
		if t, err := programme.ParseTemperature(x.Value); err == nil && float64(t) == math.Round(float64(t)) {
			x.Value = formatNumber(float64(t)) + "C"
		}
	}
}

// WriteClient writes a programme with comments that ReadClient reads back to the same value.
func WriteClient(client *programme.Client) []byte {
	return write("What this client has agreed. 'kitmuster programme apply' takes it over after showing what changes.",
		encode(clientFields(), client, false))
}

func write(head string, root *yaml.Node) []byte {
	var b bytes.Buffer
	fmt.Fprintf(&b, "# %s\n\n", head)
	enc := yaml.NewEncoder(&b)
	enc.SetIndent(2)
	if err := enc.Encode(root); err != nil {
		panic("setup: a tree of our own making does not encode: " + err.Error())
	}
	return b.Bytes()
}
