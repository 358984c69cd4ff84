package main

import (
	"strings"

	"github.com/spf13/cobra"

	"github.com/kitmuster/kitmuster/notify/page"
)

// readUses gives c and every command below it what its line of use says: which words it takes
// and, unless it says so itself, what the shell offers for clients, people and files.
func (a *app) readUses(c *cobra.Command) {
	_, words, _ := strings.Cut(c.Use, " ")
	c.Args = takes(words)
	if c.ValidArgsFunction == nil {
		switch named := strings.NewReplacer("[", "", "]", "").Replace(words); {
		case named == "CLIENT PERSON":
			c.ValidArgsFunction = a.completePerson
		case named == "CLIENT FILE":
			c.ValidArgsFunction = a.completeClientThenFile
		case strings.HasPrefix(named, "CLIENT"):
			c.ValidArgsFunction = a.completeClient
		}
	}
	if _, folded := a.out.(*screen); folded {
		c.Long = page.Unwrap(c.Long)
	}
	for _, sub := range c.Commands() {
		a.readUses(sub)
	}
}

// takes checks the words behind a command by those of its line of use: WORD is needed,
// [WORD] may be left out, and where there are three dots any number may follow.
func takes(words string) cobra.PositionalArgs {
	needed, optional, _ := strings.Cut(strings.ReplaceAll(words, " ...", "..."), "[")
	wants := strings.Fields(needed)
	most := len(wants) + len(strings.Fields(optional))
	return func(c *cobra.Command, args []string) error {
		switch more := len(args) > most && !strings.Contains(words, "..."); {
		case len(args) < len(wants):
			return usagef("'%s' also wants %s; see '%s --help'", c.CommandPath(),
				strings.TrimSuffix(wants[len(args)], "..."), c.CommandPath())
		case more && most == 0 && c.HasSubCommands():
			return usagef("there is no command '%s %s'; see '%s --help'", c.CommandPath(), args[0], c.CommandPath())
		case more:
			return usagef("'%s' does not know what to do with %q; put words that belong together in quotation marks",
				c.CommandPath(), args[most])
		}
		return nil
	}
}
