// Command kitmuster keeps the uniform programmes of a garment-decorating
// shop's clients and proposes reorders before anyone has to ask.
package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"syscall"
	"time"
	_ "time/tzdata" // a bare machine has no zone database, and schedules need one

	"github.com/spf13/cobra"

	"github.com/kitmuster/kitmuster/cmd/internal/memory"
	"github.com/kitmuster/kitmuster/daemon"
)

// Exit statuses of the program.
const (
	exitDone  = 0
	exitWork  = 1 // the work could not be done; stderr says why
	exitUsage = 2 // wrong use
)

func main() {
	daemon.OwnerOnly()
	memory.CollectSeldom()
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	status := run(ctx, os.Args[1:], os.Stdin, os.Stdout, os.Stderr)
	stop()
	os.Exit(status)
}

// run executes one command line and returns the exit status, so that tests
// drive the program without a process.
func run(ctx context.Context, args []string, stdin io.Reader, stdout, stderr io.Writer) int {
	a := &app{in: stdin, out: onScreen(stdout), err: onScreen(stderr), now: time.Now}
	root := newRoot(a)
	root.SetArgs(args)
	err := root.ExecuteContext(ctx)
	if err == nil {
		return exitDone
	}
	fmt.Fprintf(a.err, "kitmuster: %v\n", err)
	if _, ok := errors.AsType[usageError](err); ok {
		return exitUsage
	}
	return exitWork
}

// usageError marks an error as wrong use of the command line.
type usageError struct{ error }

// usagef builds an error that ends the program with the status of wrong use.
func usagef(format string, args ...any) error { return usageError{fmt.Errorf(format, args...)} }

// newRoot builds the command tree. Each command lives in a file of its own.
func newRoot(a *app) *cobra.Command {
	root := &cobra.Command{
		Use:           "kitmuster",
		Short:         "Forecasts when uniforms wear out and proposes the reorder",
		SilenceUsage:  true,
		SilenceErrors: true,
		RunE:          func(c *cobra.Command, _ []string) error { return c.Help() },
	}
	root.SetIn(a.in)
	root.SetOut(a.out)
	root.SetErr(a.err)
	root.SetFlagErrorFunc(func(_ *cobra.Command, err error) error { return usageError{err} })
	root.PersistentFlags().StringVar(&a.home, "home", ".", "folder of the shop: config, database, programmes, mail")
	root.AddGroup(groups...)
	root.AddCommand(commands(a)...)
	a.readUses(root)
	return root
}
