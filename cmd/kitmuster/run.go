package main

import (
	"errors"

	"github.com/spf13/cobra"

	"github.com/kitmuster/kitmuster/daemon"
	"github.com/kitmuster/kitmuster/daemon/config"
	"github.com/kitmuster/kitmuster/daemon/logkey"
	"github.com/kitmuster/kitmuster/daemon/store"
)

func newRunCommand(a *app) *cobra.Command {
	return &cobra.Command{
		Use:   "run",
		Short: "Run by itself: rounds on their schedule, mail, dropped files, backups",
		Long: `Runs until it is told to stop, and does each thing at its time by config.yaml: the
round, the outbox, the drop folder, backups, a check of itself. What was missed while
the machine was off is done once when it is back. It changes no proposal that a
person has to decide on.

Its log goes to standard error. 'kitmuster status' shows from another terminal how
it stands; 'kitmuster service print' lets it start with the machine.`,
		Example: "  kitmuster run --home /srv/shop",
		RunE: func(cmd *cobra.Command, _ []string) (err error) {
			log := logkey.New(unfolded(a.err), a.logSetting(func(l config.Log) string { return l.Format }, "auto"),
				a.logSetting(func(l config.Log) string { return l.Level }, "info"))
			d, err := daemon.New(cmd.Context(), daemon.Options{Home: a.home, Log: log, Now: a.now})
			if err != nil {
				return err
			}
			err = d.Run(cmd.Context())
			if errors.Is(err, daemon.ErrStillRunning) || errors.Is(err, store.ErrMoved) {
				// The database is left to the job, which ends with the process; closing one that
				// was replaced would take the log of the new one away.
				return err
			}
			return errors.Join(err, d.Close())
		},
	}
}

// logSetting reads one setting of the log; a config that cannot be read is
// told by what opens the shop next.
func (a *app) logSetting(get func(config.Log) string, otherwise string) string {
	_, c, err := a.settings()
	if err != nil {
		return otherwise
	}
	return get(c.Log)
}
