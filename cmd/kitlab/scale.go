package main

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"hash"
	"math"
	"os"
	"path/filepath"
	"runtime"
	"runtime/pprof"
	"strconv"
	"strings"
	"syscall"
	"time"

	"github.com/spf13/cobra"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/round"
	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/notify/wholefile"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/replay"
	"github.com/kitmuster/kitmuster/programme/setup"
	"github.com/kitmuster/kitmuster/programme/simulate"
)

// scaleDay is the day of the measured round.
var scaleDay = programme.NewDate(2026, 3, 2)

// newScaleCommand measures a whole round over shops of growing size.
func newScaleCommand(l *lab) *cobra.Command {
	pieces, weeks, bare, profile, memory := "10000,100000,1000000", 52, false, "", ""
	c := &cobra.Command{
		Use:   "scale",
		Short: "Measure a whole round over shops of growing size",
		Long: `Invents shops with one client for every thousand pieces in service and a hundred
staff each, takes their records into a database in a temporary folder, and runs a
whole round over each: learning, forecasts, proposals, sheets, mails, commit. Prints
seconds by the clock and of both processors, how many times the previous size's by
the latter, the greatest memory of the process, and a checksum of what was decided,
equal where two builds come to the same. Shelves hold what they would
between two orders, so a part of the clients is due; --bare makes all of them due.
--profile writes where the processor's time went in the last round, --memory what is
in memory before it is stored and what was ever allocated, for go tool pprof.`,
		Example: "  kitlab scale --pieces 10000,100000",
		Args:    cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) (err error) {
			sizes, err := wholeNumbers(pieces)
			if err != nil {
				return fmt.Errorf("--pieces: %w", err)
			}
			fmt.Fprintf(l.out, "%9s %8s %5s %7s %12s %9s %8s %6s %6s %9s  %s\n", "pieces", "clients", "due", "staff",
				"ledger rows", "import s", "round s", "CPU s", "times", "peak MiB", "results")
			var noted *bytes.Buffer
			if profile != "" {
				noted = &bytes.Buffer{}
				defer func() { err = errors.Join(err, wholefile.Write(profile, noted.Bytes())) }()
			}
			before := 0.0
			for _, n := range sizes {
				size := simulate.Size{Clients: max(1, n/1000), Staff: max(10, n/10), Pieces: n,
					Weeks: weeks, Bare: bare}
				if before, err = l.measureScale(cmd.Context(), size, before, noted, memory); err != nil {
					return err
				}
			}
			return nil
		},
	}
	c.Flags().StringVar(&pieces, "pieces", pieces, "pieces in service, one shop for each number")
	c.Flags().IntVar(&weeks, "weeks", weeks, "weeks of records")
	c.Flags().StringVar(&profile, "profile", "", "file for a profile of the last round")
	c.Flags().StringVar(&memory, "memory", "", "file for a profile of memory in the last round")
	c.Flags().BoolVar(&bare, "bare", false, "empty shelves: every client is due")
	return c
}

func wholeNumbers(list string) ([]int, error) {
	var numbers []int
	for s := range strings.SplitSeq(list, ",") {
		n, err := strconv.Atoi(strings.TrimSpace(s))
		if err != nil || n < 100 {
			return nil, fmt.Errorf("%q is not a whole number of at least 100", s)
		}
		numbers = append(numbers, n)
	}
	return numbers, nil
}

// measureScale prints one line and returns the processor seconds of the round.
func (l *lab) measureScale(ctx context.Context, size simulate.Size, before float64, profile *bytes.Buffer,
	memory string) (seconds float64, err error) {
	home, err := os.MkdirTemp("", "kitmuster-scale-")
	if err != nil {
		return 0, err
	}
	defer func() { err = errors.Join(err, os.RemoveAll(home)) }()
	shop, cases := simulate.NewScale(size, scaleDay, 1)
	st, err := store.Open(ctx, filepath.Join(home, books.DatabaseFile), store.Options{})
	if err != nil {
		return 0, err
	}
	shop.IndexArtworks()
	b := books.With(home, &shop, st)
	defer func() { err = errors.Join(err, b.Close()) }()
	start, rows := time.Now(), 0
	for c := range cases {
		rows += len(c.Ledger)
		if err := storeCase(ctx, b, &c); err != nil {
			return 0, err
		}
	}
	imported := time.Since(start).Seconds()
	runtime.GC()
	start, busy := time.Now(), processorSeconds()
	if err := startProfile(profile); err != nil {
		return 0, err
	}
	opt := round.Options{AsOf: scaleDay, Now: start}
	if memory != "" {
		opt.Reached = func(s round.Stage) {
			if s == round.Composed {
				err = profileMemory(memory)
			}
		}
	}
	res, failed := round.Run(ctx, b, opt)
	if err := errors.Join(err, failed); err != nil {
		return 0, err
	}
	clock := time.Since(start).Seconds()
	seconds = processorSeconds() - busy
	pprof.StopCPUProfile()
	held, staff, due := 0, 0, 0
	for i := range res.Plan.Entries {
		e := &res.Plan.Entries[i]
		held, staff = held+e.InService, staff+onRoster(e.People, scaleDay)
		if e.Proposal != nil {
			due++
		}
	}
	sum, err := digest(res.Plan)
	if err != nil {
		return 0, err
	}
	times := ""
	if before > 0 {
		times = fmt.Sprintf("%.1f", seconds/before)
	}
	_, err = fmt.Fprintf(l.out, "%9d %8d %5d %7d %12d %9.1f %8.1f %6.1f %6s %9.0f  %s\n", held, size.Clients, due,
		staff, rows, imported, clock, seconds, times, peakMiB(), sum)
	return seconds, err
}

// startProfile begins to note where the processor's time goes; nil notes nothing.
func startProfile(into *bytes.Buffer) error {
	if into == nil {
		return nil
	}
	into.Reset()
	return pprof.StartCPUProfile(into)
}

// profileMemory writes what is in memory, and what was allocated so far.
func profileMemory(file string) error {
	runtime.GC()
	var b bytes.Buffer
	if err := pprof.Lookup("heap").WriteTo(&b, 0); err != nil {
		return err
	}
	return wholefile.Write(file, b.Bytes())
}

// digest is a checksum of what a round decided, numbers to six digits: equal
// where two builds of the program come to the same.
func digest(p *round.Plan) (string, error) {
	sum := sha256.New()
	for i := range p.Entries {
		e := &p.Entries[i]
		if err := note(sum, []any{e.Proposal, e.Decision, e.Expected}); err != nil {
			return "", err
		}
	}
	err := note(sum, p.Sheets.Orders)
	return hex.EncodeToString(sum.Sum(nil))[:10], err
}

func note(sum hash.Hash, v any) error {
	text, err := json.Marshal(v)
	if err != nil {
		return err
	}
	var plain any
	if err := json.Unmarshal(text, &plain); err != nil {
		return err
	}
	return json.NewEncoder(sum).Encode(rounded(plain))
}

// rounded rounds all numbers in values as JSON has them; what is smaller than any
// chance that matters is nothing.
func rounded(v any) any {
	switch v := v.(type) {
	case float64:
		if math.Abs(v) < 1e-15 {
			return 0
		}
		return strconv.FormatFloat(v, 'g', 6, 64)
	case []any:
		for i := range v {
			v[i] = rounded(v[i])
		}
	case map[string]any:
		for k := range v {
			v[k] = rounded(v[k])
		}
	}
	return v
}

// onRoster counts who is there on a day.
func onRoster(people []programme.Person, day programme.Date) int {
	n := 0
	for i := range people {
		if people[i].ActiveOn(day) {
			n++
		}
	}
	return n
}

func storeCase(ctx context.Context, b *books.Books, c *simulate.Case) error {
	return b.Store.InTx(ctx, func(tx *store.Tx) error {
		if err := tx.PutClient(c.Client.Code, setup.WriteClient(&c.Client)); err != nil {
			return err
		}
		if err := tx.PutPeople(c.Client.Code, c.Roster); err != nil {
			return err
		}
		if _, _, err := tx.AddMovements(c.Client.Code, c.Ledger, 0); err != nil {
			return err
		}
		if err := tx.AddStock(c.Stock); err != nil {
			return err
		}
		// The counts of the ledger came back on forms; without their dates every
		// client would be sent one in the round that is measured.
		if last := replay.LastCount(c.Ledger); c.Client.CountEveryWeeks > 0 && !last.IsZero() {
			_, err := tx.AddCountForm(c.Client.Code, last)
			return err
		}
		return nil
	})
}

// processorSeconds returns what the process has computed so far, on all processors.
func processorSeconds() float64 {
	var u syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &u); err != nil {
		return 0
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano()).Seconds()
}

// peakMiB returns the greatest memory that the process has had so far.
func peakMiB() float64 {
	var u syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &u); err != nil {
		return 0
	}
	return float64(u.Maxrss) / 1024
}
