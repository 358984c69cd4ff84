package main

import (
	_ "embed"

	"github.com/spf13/cobra"
)

//go:embed changes.txt
var changesGuide string

// topics are guides that the program prints: 'kitmuster help changes'.
func topics() []*cobra.Command {
	return []*cobra.Command{
		{Use: "changes", Short: "Guide: kits that change, seasons, prices and artworks from a day, first parts",
			Long: changesGuide},
	}
}
