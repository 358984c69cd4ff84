package main

import (
	"fmt"
	"io"
	"path/filepath"
	"time"

	"github.com/spf13/cobra"

	"github.com/kitmuster/kitmuster/daemon"
	"github.com/kitmuster/kitmuster/notify/outbox"
	"github.com/kitmuster/kitmuster/notify/page"
	"github.com/kitmuster/kitmuster/programme"
)

func newStatusCommand(a *app) *cobra.Command {
	asJSON := false
	c := &cobra.Command{
		Use:   "status",
		Short: "Show how the service stands: next and last times, mail, backups, worries",
		Long: `Shows what the service did last and does next, what waits in the outbox and in the drop
folder, how old the newest backup is, and what a person should look at. It works while
the service runs and while it does not, and changes no records.`,
		Example: "  kitmuster status\n  kitmuster status --json",
		RunE: func(cmd *cobra.Command, _ []string) error {
			st, err := daemon.ReadStatus(cmd.Context(), a.home, a.now())
			if err != nil {
				return err
			}
			if asJSON {
				return writeJSON(a.out, st)
			}
			printStatus(a.out, &st)
			return nil
		},
	}
	jsonFlag(c, &asJSON)
	return c
}

const clock = "Mon 2006-01-02 15:04"

func printStatus(w io.Writer, st *daemon.Status) {
	if st.Running != "" {
		fmt.Fprintf(w, "At work: %s.\n\n", st.Running)
	}
	t := page.Table{Columns: page.Columns("Job", "Next", "Last", "")}
	for i := range st.Jobs {
		j := &st.Jobs[i]
		next := ""
		if j.Next != nil {
			next = j.Next.Format(clock)
		}
		t.Row(j.Name, next, lastOf(j), missedOf(j))
	}
	show(w, t)
	fmt.Fprintf(w, "\nTimes are those of %s.\n\n", st.Zone)
	c := st.Outbox.Counts
	way := ""
	if st.Outbox.Way != "" {
		way = " (" + st.Outbox.Way + ")"
	}
	fmt.Fprintf(w, "Outbox%s: %d waiting, %d delivered, %d refused, %d given up.\n", way, c[outbox.Waiting],
		c[outbox.Accepted], c[outbox.Refused], c[outbox.GivenUp])
	for _, f := range st.Files {
		fmt.Fprintf(w, "In %s: %s written, %d waiting.\n", f.Folder, programme.NumberOf(f.Written, "file"), f.Waiting)
	}
	if st.Drop.Folder != "" { // else the settings cannot be read
		printFolders(w, st)
	}
	fmt.Fprintf(w, "Database: %s, %s.\n", filepath.Base(st.Database.Path), size(st.Database.Bytes))
	if st.Untold > 0 {
		fmt.Fprintf(w, "The owner's next mail tells %s.\n", programme.NumberOf(st.Untold, "event"))
	}
	for _, s := range st.Worries {
		fmt.Fprintf(w, "\nLook at this: %s\n", s)
	}
}

func printFolders(w io.Writer, st *daemon.Status) {
	fmt.Fprintf(w, "Drop folder: %s waiting in %s.\n", programme.NumberOf(len(st.Drop.Waiting), "file"), st.Drop.Folder)
	newest := "none yet"
	if st.Backup.Newest != nil {
		newest = fmt.Sprintf("%d, the newest %s old", st.Backup.Copies, age(st.At.Sub(*st.Backup.Newest)))
	}
	fmt.Fprintf(w, "Backups: %s.\n", newest)
}

func lastOf(j *daemon.JobStatus) string {
	switch {
	case j.State == "":
		return "not yet"
	case j.Finished != nil && j.State == "done":
		return j.Finished.Format(clock)
	case j.NextTry != nil:
		return fmt.Sprintf("failed %d times, tried again %s", j.Attempts, j.NextTry.Format(clock))
	default:
		return j.State
	}
}

func missedOf(j *daemon.JobStatus) string {
	if j.Missed == 0 {
		return ""
	}
	return fmt.Sprintf("stood for %d missed before it", j.Missed)
}

func age(d time.Duration) string {
	switch {
	case d < time.Hour:
		return fmt.Sprintf("%d minutes", int(d.Minutes()))
	case d < 48*time.Hour:
		return fmt.Sprintf("%d hours", int(d.Hours()))
	default:
		return fmt.Sprintf("%d days", int(d.Hours()/24))
	}
}
