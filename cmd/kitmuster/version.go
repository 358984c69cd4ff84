package main

import (
	"fmt"
	"io"

	"github.com/spf13/cobra"
)

// version is set by the release build.
var version = "development"

func newVersionCommand(a *app) *cobra.Command {
	var licences bool
	c := &cobra.Command{
		Use:   "version",
		Short: "Print the version, or the licences of what is inside",
		Long: `Print the version.

--notices prints which modules of others are linked into this program, in which
version, and the licence of each. They ask that their licences go along wherever
the program goes.`,
		Example: "  kitmuster version\n  kitmuster version --notices | less",
		RunE: func(*cobra.Command, []string) error {
			if licences {
				_, err := io.WriteString(unfolded(a.out), notices)
				return err
			}
			_, err := fmt.Fprintln(a.out, "kitmuster", version)
			return err
		},
	}
	c.Flags().BoolVar(&licences, "notices", false, "print the licences of the modules that are linked")
	return c
}
