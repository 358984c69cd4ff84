package setup

import (
	"fmt"
	"strings"

	"go.yaml.in/yaml/v3"

	"github.com/kitmuster/kitmuster/programme"
)

// artworkSizes is the key under which an artwork has other measures on some
// sizes of garments: {XS-S: 80%, 2XL-5XL: 4.5in}.
func artworkSizes() field[programme.Artwork] {
	return field[programme.Artwork]{
		key:  "sizes",
		help: "larger or smaller on some sizes of garments, by per cent or width: {XS-S: 80%, 2XL-5XL: 4.5in}. Each is a transfer of its own, on sheets, proofs and tickets",
		read: func(r *reader, n *yaml.Node, path string, into *programme.Artwork) {
			into.Sizes = readArtworkSizes(r, n, path)
		},
		write: func(from *programme.Artwork, _ bool) *yaml.Node {
			if len(from.Sizes) == 0 {
				return nil
			}
			n := &yaml.Node{Kind: yaml.MappingNode, Style: yaml.FlowStyle}
			for _, s := range from.Sizes {
				words := formatLength(s.Width)
				if s.Scale > 0 {
					words = formatNumber(100*s.Scale) + "%"
				}
				n.Content = append(n.Content, scalar(s.On), scalar(words))
			}
			return n
		},
	}
}

func readArtworkSizes(r *reader, n *yaml.Node, path string) []programme.ArtworkSize {
	if n.Kind != yaml.MappingNode {
		r.wrong(n, path, "read %s; write sizes with a per cent or a width, such as {XS-S: 80%%, 2XL-5XL: 4.5in}",
			describe(n))
		return nil
	}
	var out []programme.ArtworkSize
	for k, v := range pairs(n) {
		s, err := readArtworkSize(k.Value, v.Value)
		if err != nil {
			r.wrong(v, join(path, k.Value), "%s", err)
			continue
		}
		for _, before := range out {
			if both := shared(before, s); both != "" {
				r.wrong(k, join(path, k.Value), "size %s is in %s too; write each size once", both, before.On)
			}
		}
		out = append(out, s)
	}
	return out
}

// shared returns an end of one range that lies in the other; empty = they share none.
func shared(a, b programme.ArtworkSize) string {
	for _, pair := range [][2]programme.ArtworkSize{{a, b}, {b, a}} {
		for end := range strings.SplitSeq(pair[0].On, "-") {
			if pair[1].Has(end) {
				return end
			}
		}
	}
	return ""
}

// A print below a fifth or above five times its size is a slip of the pen.
const leastScale, mostScale = 0.2, 5

func readArtworkSize(on, value string) (programme.ArtworkSize, error) {
	s := programme.ArtworkSize{On: strings.ReplaceAll(strings.ToUpper(on), " ", "")}
	if strings.Contains(on, "/") {
		s.On = on // a fraction keeps its blank: 7 1/4
	}
	if !s.Ranged() {
		return s, fmt.Errorf("read %q; write a size or the first and last of a range, such as 2XL or 2XL-5XL",
			short(on))
	}
	if percent, ok := strings.CutSuffix(value, "%"); ok {
		v, err := parseNumber(strings.TrimSpace(percent), 100*leastScale, 100*mostScale)
		s.Scale = v / 100
		return s, err
	}
	var err error
	if s.Width, err = programme.ParseLength(value); err == nil && s.Width <= 0 {
		err = fmt.Errorf("read %q; write a width above 0", short(value))
	}
	return s, err
}
