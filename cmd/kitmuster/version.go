package main

import (
	"fmt"

	"github.com/spf13/cobra"
)

// version is set by the release build.
var version = "development"

func newVersionCommand(a *app) *cobra.Command {
	return &cobra.Command{
		Use:     "version",
		Short:   "Print the version",
		Example: "  kitmuster version",
		Args:    cobra.NoArgs,
		RunE: func(*cobra.Command, []string) error {
			_, err := fmt.Fprintln(a.out, "kitmuster", version)
			return err
		},
	}
}
