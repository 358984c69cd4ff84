package size_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme/size"
)

func TestCutsBesideSizes(t *testing.T) {
	for raw, want := range map[string]struct {
		cut  size.Cut
		rest string
	}{
		"ladies M": {size.Ladies, "M"}, "Ladies' 12": {size.Ladies, "12"}, "women’s 2XL": {size.Ladies, "2XL"},
		"W-M":   {size.Ladies, "M"},
		"M (W)": {size.Ladies, "M"}, "12 / ladies": {size.Ladies, "12"}, "F  XL": {size.Ladies, "XL"},
		"female:S": {size.Ladies, "S"}, "Large, women": {size.Ladies, "Large"},
		"mens L": {size.Mens, "L"}, "L men's": {size.Mens, "L"}, "gents 42": {size.Mens, "42"},
		"unisex M":   {size.Mens, "M"},
		"ladies-top": {size.Ladies, "top"}, "top-womens": {size.Ladies, "top"}, "mens-bottom": {size.Mens, "bottom"},
		"M": {"", "M"}, "L": {"", "L"}, "34/32": {"", "34/32"}, "W34": {"", "W34"}, "top": {"", "top"},
		"L-M": {"", "L-M"}, "7 1/4": {"", "7 1/4"}, "": {"", ""},
	} {
		cut, rest := size.PartCut(raw)
		require.Equal(t, want.cut, cut, raw)
		require.Equal(t, want.rest, rest, raw)
	}
	for raw, want := range map[string]size.Cut{"Ladies": size.Ladies, "F": size.Ladies, "w": size.Ladies,
		"M": size.Mens, "male": size.Mens, "Men's": size.Mens} {
		cut, ok := size.ReadCut(raw)
		require.True(t, ok, raw)
		require.Equal(t, want, cut, raw)
	}
	_, ok := size.ReadCut("other")
	require.False(t, ok)
	for raw, want := range map[string]bool{"L-M": true, "M/L": true, "L 12": true, "M": false, "W-M": false,
		"34/32": false, "XL": false} {
		require.Equal(t, want, size.Unsure(raw), raw)
	}
}
