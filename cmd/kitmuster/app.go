package main

import (
	"io"

	"github.com/spf13/cobra"
)

// app is what every command shares: where the shop's folder is and where to
// read and write.
type app struct {
	in   io.Reader
	out  io.Writer
	err  io.Writer
	home string
}

// commands lists every command of the program, in the order of the help page.
func commands(a *app) []*cobra.Command {
	return []*cobra.Command{
		newVersionCommand(a),
	}
}
