package main

import "github.com/spf13/cobra"

// exactly wants the named words behind a command and no more.
func exactly(names ...string) cobra.PositionalArgs {
	return cobra.MatchAll(atLeast(names...), atMost(names...))
}

// atLeast wants the named words and takes more.
func atLeast(names ...string) cobra.PositionalArgs {
	return func(c *cobra.Command, args []string) error {
		if len(args) < len(names) {
			return usagef("'%s' also wants %s; see '%s --help'", c.CommandPath(), names[len(args)], c.CommandPath())
		}
		return nil
	}
}

// atMost takes the named words or fewer.
func atMost(names ...string) cobra.PositionalArgs {
	return func(c *cobra.Command, args []string) error {
		if len(args) > len(names) {
			return usagef("'%s' does not know what to do with %q; put words that belong together in quotation marks", c.CommandPath(), args[len(names)])
		}
		return nil
	}
}
