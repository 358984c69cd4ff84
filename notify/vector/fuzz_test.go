package vector_test

import (
	"bytes"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/notify/vector"
)

func fmtFloat(v float64) string { return strconv.FormatFloat(v, 'f', 9, 64) }

func requireSame(t require.TestingT, want, got *vector.Picture) {
	require.InDelta(t, want.Width, got.Width, 1e-3)
	require.InDelta(t, want.Height, got.Height, 1e-3)
	require.Len(t, got.Shapes, len(want.Shapes))
	for i := range want.Shapes {
		w, g := &want.Shapes[i], &got.Shapes[i]
		require.Equal(t, w.EvenOdd, g.EvenOdd)
		require.Equal(t, w.Fill == nil, g.Fill == nil)
		require.Equal(t, w.Stroke == nil, g.Stroke == nil)
		require.Len(t, g.Clips, len(w.Clips))
		samePath(t, w.Path, g.Path)
		for j := range w.Clips {
			samePath(t, w.Clips[j].Path, g.Clips[j].Path)
		}
	}
}

func samePath(t require.TestingT, want, got []vector.Step) {
	require.Len(t, got, len(want))
	for i := range want {
		require.Equal(t, want[i].Op, got[i].Op)
		if want[i].Op == 'Z' {
			continue
		}
		for j := range want[i].To {
			if want[i].Op != 'C' && j > 0 {
				break
			}
			require.InDelta(t, want[i].To[j].X, got[i].To[j].X, 1e-3*(1+math.Abs(want[i].To[j].X)*1e-3))
			require.InDelta(t, want[i].To[j].Y, got[i].To[j].Y, 1e-3*(1+math.Abs(want[i].To[j].Y)*1e-3))
		}
	}
}

// FuzzRead reads anything: twice the same, within bounds, and what is written
// of it reads as the same picture.
func FuzzRead(f *testing.F) {
	files, err := filepath.Glob("testdata/*.svg")
	require.NoError(f, err)
	for _, file := range files {
		data, err := os.ReadFile(file)
		require.NoError(f, err)
		f.Add(data)
	}
	for _, s := range []string{
		svg(`<path d="M1e3-.5.5a1 1 0 01.5.5z" fill="#abc8" stroke="red" stroke-dasharray="1 2%"/>`),
		svg(`<g id="a" clip-path="url(#c)"><use href="#a"/></g><clipPath id="c"><circle r="3"/></clipPath>`),
		svg(`<style>.a,.b{fill:rgba(1,2,3,.5)}</style><rect class="a" width="9" height="9" rx="50%"/>`),
		"<svg viewBox='0 0 1e-9 1e-9'><rect width='1' height='1'/></svg>", "\ufeff<svg/>",
		`<?xml version="1.0" encoding="utf-16"?><svg/>`,
	} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		p, err := vector.Read(data)
		if err != nil {
			require.NotEmpty(t, err.Error())
			require.NotContains(t, err.Error(), "\n")
			return
		}
		twice, err := vector.Read(bytes.Clone(data))
		require.NoError(t, err)
		require.Equal(t, p, twice)
		require.InDelta(t, 1000, max(p.Width, p.Height), 1e-6)
		for _, s := range p.Shapes {
			for _, st := range s.Path {
				for _, q := range st.To {
					require.LessOrEqual(t, math.Abs(q.X), 1e6)
					require.LessOrEqual(t, math.Abs(q.Y), 1e6)
				}
			}
		}
		if visible(p) {
			requireSame(t, p, again(t, p))
		}
	})
}

// visible is false where something is so faint or so fine that the four
// decimals of the markup write it as nothing.
func visible(p *vector.Picture) bool {
	for _, s := range p.Shapes {
		if s.Fill != nil && s.Fill.Opacity < 1e-4 {
			return false
		}
		if k := s.Stroke; k != nil && (k.Width < 1e-4 || k.Ink.Opacity < 1e-4 || k.Dash != nil) {
			return false
		}
	}
	return min(p.Width, p.Height) > 1.1
}
