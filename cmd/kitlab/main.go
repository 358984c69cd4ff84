// Command kitlab holds what those who work on kitmuster measure it with:
// studies against simulated shops, ordering problems, the calibration of its forecasts, published
// packing problems, and speed. A shop never needs it.
package main

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"os/signal"
	"syscall"
	_ "time/tzdata" // a bare machine has no zone database, and a round needs one

	"github.com/spf13/cobra"

	"github.com/kitmuster/kitmuster/cmd/internal/memory"
)

func main() {
	memory.CollectSeldom()
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	status := run(ctx, os.Args[1:], os.Stdout, os.Stderr)
	stop()
	os.Exit(status)
}

// run executes one command line and returns the exit status: 0 done, 1 not.
func run(ctx context.Context, args []string, stdout, stderr io.Writer) int {
	root := newRoot(&lab{out: stdout, err: stderr})
	root.SetArgs(args)
	if err := root.ExecuteContext(ctx); err != nil {
		fmt.Fprintf(stderr, "kitlab: %v\n", err)
		return 1
	}
	return 0
}

// lab holds the outputs that all commands share.
type lab struct{ out, err io.Writer }

// commands lists every measurement. Each lives in a file of its own.
func commands(l *lab) []*cobra.Command {
	return []*cobra.Command{
		newMoneyCommand(l),
		newCalibrateCommand(l),
		newOrdersCommand(l),
		newScaleCommand(l),
		newSheetsCommand(l),
		newNeedsCommand(l),
		newWorldsCommand(l),
		newAlarmsCommand(l),
		newCountsCommand(l),
	}
}

func newRoot(l *lab) *cobra.Command {
	root := &cobra.Command{
		Use:           "kitlab",
		Short:         "Measures kitmuster: money, orders, calibration, sheets, speed",
		SilenceUsage:  true,
		SilenceErrors: true,
		Args:          cobra.NoArgs,
		RunE:          func(c *cobra.Command, _ []string) error { return c.Help() },
	}
	root.SetOut(l.out)
	root.SetErr(l.err)
	root.AddCommand(commands(l)...)
	return root
}

func (l *lab) writeJSON(v any) error {
	enc := json.NewEncoder(l.out)
	enc.SetIndent("", "  ")
	return enc.Encode(v)
}
