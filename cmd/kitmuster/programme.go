package main

import (
	"context"
	"fmt"

	"github.com/spf13/cobra"
	"go.yaml.in/yaml/v3"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/setup"
)

func newProgrammeCommand(a *app) *cobra.Command {
	c := group("programme", "What each client has agreed", "  kitmuster programme apply")
	c.AddCommand(newProgrammeApplyCommand(a), newProgrammeListCommand(a), newProgrammeShowCommand(a),
		newProgrammeDraftCommand(a), newProgrammeSplitCommand(a))
	return c
}

func newProgrammeShowCommand(a *app) *cobra.Command {
	var asJSON bool
	c := &cobra.Command{
		Use:     "show CLIENT",
		Short:   "Print a client's programme as it was applied",
		Example: "  kitmuster programme show bakery",
		RunE: a.onBooks(func(ctx context.Context, b *books.Books, args []string) error {
			client, err := b.Client(ctx, args[0])
			if err != nil {
				return err
			}
			if asJSON {
				return a.programmeJSON(client)
			}
			row, err := b.Store.Client(ctx, args[0])
			if err != nil {
				return err
			}
			_, err = unfolded(a.out).Write(row.Programme)
			return err
		}),
	}
	c.Flags().BoolVar(&asJSON, "json", false, "print for other programs, with the keys of the file")
	return c
}

func (a *app) programmeJSON(client *programme.Client) error {
	var tree map[string]any
	if err := yaml.Unmarshal(setup.WriteClient(client), &tree); err != nil {
		return fmt.Errorf("write the programme: %w", err)
	}
	return writeJSON(a.out, struct {
		Format    int            `json:"format"`
		Programme map[string]any `json:"programme"`
	}{1, tree})
}
