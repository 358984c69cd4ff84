package size

import (
	"slices"
	"strings"
)

// Chart is the sizes that can be had of something, in its own order.
type Chart struct {
	codes []string
	by    map[string]string // canonical or capital form -> code; "" = claimed by two
}

// NewChart takes the codes as the shop writes them.
func NewChart(codes ...string) *Chart {
	c := &Chart{by: map[string]string{}}
	for _, code := range codes {
		c.add(code)
	}
	return c
}

func (c *Chart) add(code string) {
	if slices.Contains(c.codes, code) {
		return
	}
	c.codes = append(c.codes, code)
	canon, _ := Canonical(code)
	for _, key := range []string{canon, tight(code)} {
		if other, taken := c.by[key]; taken && other != code {
			c.by[key] = ""
			continue
		}
		c.by[key] = code
	}
}

// Codes returns the sizes in the chart's order.
func (c *Chart) Codes() []string { return c.codes }

// Find returns the code of the chart that a text means. Otherwise want ends
// the sentence that says so.
func (c *Chart) Find(raw string) (code, want string) {
	for _, known := range c.codes {
		if known == raw {
			return known, ""
		}
	}
	canon, _ := Canonical(raw)
	for _, key := range []string{canon, tight(raw)} {
		if code := c.by[key]; code != "" {
			return code, ""
		}
	}
	want = "but the sizes are " + strings.Join(c.codes, ", ")
	if waist, _, ok := strings.Cut(canon, "/"); ok && number.MatchString(waist) && c.by[waist] != "" {
		want += "; write " + c.by[waist] + ", or put sizes with a length, such as " + canon + ", into shop.yaml"
	}
	return "", want
}

func tight(s string) string {
	return strings.Map(func(r rune) rune {
		if r == ' ' || r == '-' || r == '_' || r == '.' {
			return -1
		}
		return r
	}, strings.ToUpper(s))
}
