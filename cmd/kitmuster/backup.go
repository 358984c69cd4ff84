package main

import (
	"context"
	"errors"
	"fmt"
	"path/filepath"

	"github.com/spf13/cobra"

	"github.com/kitmuster/kitmuster/daemon/backup"
	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/config"
	"github.com/kitmuster/kitmuster/daemon/lock"
	"github.com/kitmuster/kitmuster/programme"
)

// settings reads shop.yaml and config.yaml of the shop's folder.
func (a *app) settings() (*programme.Shop, *config.Config, error) {
	shop, err := books.ReadShop(a.home)
	if err != nil {
		return nil, nil, err
	}
	c, err := config.ReadFolder(a.home, books.ZoneOf(shop))
	return shop, c, err
}

func newBackupCommand(a *app) *cobra.Command {
	list := false
	c := &cobra.Command{
		Use:   "backup",
		Short: "Copy the database now, checked, beside the nightly copies",
		Long: `Copies the database into the backup folder while everything goes on, reads every page
of the copy and compares its numbers of rows. Old copies stay: the service alone thins
them out, each night. With --list it shows the copies there are and why each is kept.

Next: 'kitmuster restore FILE' puts a copy back.`,
		Example: "  kitmuster backup\n  kitmuster backup --list",
		RunE: func(cmd *cobra.Command, _ []string) error {
			shop, cfg, err := a.settings()
			if err != nil {
				return err
			}
			dir := config.Under(a.home, cfg.Backup.Folder)
			if list {
				return a.listBackups(dir, cfg, shop)
			}
			return a.withBooks(cmd.Context(), func(ctx context.Context, b *books.Books) error {
				made, err := backup.Make(ctx, b.Store, dir, a.now())
				if err != nil {
					return err
				}
				fmt.Fprintf(a.out, "Copied to %s (%s), and checked.\n", made.Path, size(made.Size))
				return nil
			})
		},
	}
	c.Flags().BoolVar(&list, "list", false, "show the copies there are")
	return c
}

func (a *app) listBackups(dir string, cfg *config.Config, shop *programme.Shop) error {
	zone := books.ZoneOf(shop)
	copies, err := backup.List(dir)
	if err != nil {
		return err
	}
	if len(copies) == 0 {
		fmt.Fprintf(a.out, "There are no backups in %s yet.\n", dir)
		return nil
	}
	keep := backup.Keep{Daily: cfg.Backup.Daily, Weekly: cfg.Backup.Weekly, Monthly: cfg.Backup.Monthly}
	for _, v := range keep.Judge(copies, zone) {
		why := v.Why()
		if why == "" {
			why = "goes at the next nightly backup"
		}
		fmt.Fprintf(a.out, "%s  %s  %8s  %s\n", v.At.In(zone).Format("2006-01-02 15:04"), filepath.Base(v.Path),
			size(v.Size), why)
	}
	return nil
}

func newRestoreCommand(a *app) *cobra.Command {
	yes := false
	c := &cobra.Command{
		Use:   "restore FILE",
		Short: "Put a backup in the place of the database; the old one is kept",
		Long: `Checks a backup, sets the present database aside under another name, and puts the
backup in its place. The service must not be running. Where there is a database, it
asks for --yes: what was recorded since the backup is then only in the old file.`,
		Example: "  kitmuster restore backup/kitmuster-2026-03-09T021500Z.db --yes",
		RunE: func(cmd *cobra.Command, args []string) (err error) {
			if _, _, err := a.settings(); err != nil {
				return err
			}
			l, err := lock.Take(filepath.Join(a.home, lock.FileName), "kitmuster restore", a.now())
			if err != nil {
				return fmt.Errorf("%w. Stop it first", err)
			}
			defer func() { err = errors.Join(err, l.Release()) }()
			path := filepath.Join(a.home, books.DatabaseFile)
			old, err := backup.Restore(cmd.Context(), args[0], path, yes, a.now())
			if errors.Is(err, backup.ErrExists) {
				return fmt.Errorf("%w; with --yes it is set aside and %s takes its place", err, args[0])
			}
			if err != nil {
				return err
			}
			fmt.Fprintf(a.out, "%s is the database now.\n", args[0])
			if old != "" {
				fmt.Fprintf(a.out, "The one before is kept as %s.\n", old)
			}
			return nil
		},
	}
	c.Flags().BoolVar(&yes, "yes", false, "replace the database that is there")
	return c
}

// size formats a number of bytes in kB or MB.
func size(n int64) string {
	switch {
	case n >= 10<<20:
		return fmt.Sprintf("%d MB", n>>20)
	case n >= 1<<20:
		return fmt.Sprintf("%.1f MB", float64(n)/(1<<20))
	default:
		return fmt.Sprintf("%d kB", (n+1023)>>10)
	}
}
