package programme_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme"
)

// The last approved version is printed; what was made before its approval is former.
func TestTheLastApprovedVersionIsPrinted(t *testing.T) {
	day := programme.NewDate(2026, 3, 2)
	one := programme.ArtworkVersion{Version: "1", File: "one.svg", Approved: day}
	two := programme.ArtworkVersion{Version: "2", File: "two.svg", Approved: day + 100}
	next := programme.ArtworkVersion{Version: "3", File: "three.svg"}
	for _, c := range []struct {
		name           string
		versions       []programme.ArtworkVersion
		file           string
		title          string
		printable      bool
		awaiting       string
		former, useful programme.Date
	}{
		{"no versions", nil, "plain.svg", "Chest mark", true, "", 0, 0},
		{"the first, not approved", []programme.ArtworkVersion{next}, "three.svg", "Chest mark, not approved", false, "3", 0, 0},
		{"the first, approved", []programme.ArtworkVersion{one}, "one.svg", "Chest mark, version 1", true, "", 0, 0},
		{"the second, approved", []programme.ArtworkVersion{one, two}, "two.svg", "Chest mark, version 2", true, "", day + 100, day + 100},
		{"a third that waits", []programme.ArtworkVersion{one, two, next}, "two.svg", "Chest mark, version 2", true, "3", day + 100, day + 100},
	} {
		t.Run(c.name, func(t *testing.T) {
			a := programme.Artwork{Name: "Chest mark", File: "plain.svg", Versions: c.versions}
			if c.versions != nil {
				a.File = ""
			}
			require.Equal(t, c.file, a.Picture())
			require.Equal(t, c.title, a.Title())
			require.Equal(t, c.printable, a.Printable())
			v, waits := a.Awaiting()
			require.Equal(t, c.awaiting != "", waits)
			if waits {
				require.Equal(t, c.awaiting, v.Version)
			}
			require.Equal(t, c.former, a.FormerBefore())
			require.Equal(t, c.useful, a.GoodFrom())
			a.UseUpFormer = true
			require.Zero(t, a.GoodFrom())
		})
	}
}
