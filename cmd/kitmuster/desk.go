package main

import (
	"context"
	"errors"
	"fmt"
	"os/exec"
	"path/filepath"
	"runtime"

	"github.com/spf13/cobra"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/config"
	"github.com/kitmuster/kitmuster/daemon/desk"
	"github.com/kitmuster/kitmuster/daemon/lock"
)

func newDeskCommand(a *app) *cobra.Command {
	var open, forget bool
	c := &cobra.Command{
		Use:   "desk",
		Short: "Sign a browser in at the desk: today's work, proposals, people, goods, jobs",
		Long: `Shows a link that signs one browser in at the desk, once, within ten minutes; the
browser stays signed in for two weeks. The desk is a set of pages for what happens day
by day: what is due, answers to proposals, what somebody holds and what became of it,
goods that came, jobs for the press, people who start and leave. It says in forms what
the commands say, and every entry has its Undo.

The service serves it where config.yaml says so, on this machine alone:

  desk:
    listen: "127.0.0.1:9188"

--sign-out signs every browser out and makes links that were not used worthless.`,
		Example: "  kitmuster desk\n  kitmuster desk --open",
		RunE: a.onBooks(func(ctx context.Context, b *books.Books, _ []string) error {
			if forget {
				if err := b.Store.DropDeskKey(ctx, nil); err != nil {
					return err
				}
				fmt.Fprintln(a.out, "Every browser is signed out.")
				return nil
			}
			return a.deskLink(ctx, b, open)
		}),
	}
	c.Flags().BoolVar(&open, "open", false, "open the link in a browser")
	c.Flags().BoolVar(&forget, "sign-out", false, "sign every browser out")
	return c
}

// deskLink makes a link that signs a browser in, and opens it in the browser or prints it.
func (a *app) deskLink(ctx context.Context, b *books.Books, open bool) error {
	cfg, err := config.ReadFolder(b.Home, b.Zone())
	if err != nil {
		return err
	}
	if cfg.Desk.Listen == "" {
		return fmt.Errorf("the desk is off; in %s, under desk, write listen: \"127.0.0.1:9188\"",
			filepath.Join(b.Home, config.FileName))
	}
	if who, _ := lock.Holder(filepath.Join(b.Home, lock.FileName)); who == "" {
		return errors.New("the desk is not there, since kitmuster is not running in the background; start it with 'kitmuster run'")
	}
	link, err := desk.NewLink(ctx, b.Store, cfg.Desk.Listen, cfg.Desk.Address, a.now())
	if err != nil {
		return err
	}
	if open {
		if err := openInBrowser(ctx, link); err == nil {
			fmt.Fprintln(a.out, "The desk opens in your browser: press Sign in there.")
			return nil
		}
		fmt.Fprintln(a.err, "No browser could be opened.")
	}
	fmt.Fprintf(a.out, "Open this in a browser on this machine, once, within ten minutes:\n\n  %s\n", link)
	return nil
}

// openInBrowser asks the system to open an address.
func openInBrowser(ctx context.Context, link string) error {
	switch runtime.GOOS {
	case "windows":
		return exec.CommandContext(ctx, "rundll32", "url.dll,FileProtocolHandler", link).Run()
	case "darwin":
		return exec.CommandContext(ctx, "open", link).Run()
	}
	return exec.CommandContext(ctx, "xdg-open", link).Run()
}
