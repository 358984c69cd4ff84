package setup

import (
	"bytes"
	"fmt"
	"sort"

	"go.yaml.in/yaml/v3"

	"github.com/kitmuster/kitmuster/programme"
)

// ReadShop reads a shop.yaml; file names it in errors. The error, when not
// nil, is of type Problems and holds everything that must be mended.
func ReadShop(file string, text []byte) (*programme.Shop, error) {
	r := &reader{file: file}
	shop := freshShop()
	root := r.document(text)
	if root != nil {
		mapping(r, root, "", shopFields(), &shop)
	}
	if len(r.problems) == 0 {
		checkShop(r, root, &shop)
	}
	return &shop, r.err()
}

// ReadClient reads a programme against the shop's catalogue; file names it in
// errors, which are of type Problems.
func ReadClient(file string, text []byte, shop *programme.Shop) (*programme.Client, error) {
	r := &reader{file: file}
	client := freshClient()
	root := r.document(text)
	if root != nil {
		mapping(r, root, "", clientFields(), &client)
	}
	if len(r.problems) == 0 {
		checkClient(r, root, &client, shop)
	}
	return &client, r.err()
}

func (r *reader) err() error {
	if len(r.problems) == 0 {
		return nil
	}
	sort.SliceStable(r.problems, func(i, j int) bool { return r.problems[i].Line < r.problems[j].Line })
	return r.problems
}

// WriteShop writes a shop.yaml with comments that ReadShop reads back to the same value.
func WriteShop(shop *programme.Shop) []byte {
	return write("What the shop sells, buys and presses with. 'kitmuster check' reads it and says what is wrong.", encode(shopFields(), shop, false))
}

// WriteClient writes a programme with comments that ReadClient reads back to the same value.
func WriteClient(client *programme.Client) []byte {
	return write("What this client has agreed. 'kitmuster programme apply' takes it over after showing what changes.", encode(clientFields(), client, false))
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
