package store

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"time"
)

// SlotState is the state of the work of a slot.
type SlotState string

// States of a slot.
const (
	SlotRunning SlotState = "running" // begun; after a crash it is begun again
	SlotDone    SlotState = "done"
	SlotFailed  SlotState = "failed"   // to be tried again at NextTry
	SlotGivenUp SlotState = "given up" // tried often enough; the next slot follows
	SlotPassed  SlotState = "passed"   // before the job or its schedule was set up; it was never meant to run
)

// Slot is one planned time of one job.
type Slot struct {
	Job      string
	Key      string // identity: the shop's wall clock, or an instant with Z
	Due      time.Time
	State    SlotState
	Attempts int
	// Unfinished counts how often the slot was begun since it last came to an end
	// of any kind. For one that runs in no process, that many processes ended
	// in the middle of it.
	Unfinished int
	Missed     int // earlier slots that were missed and are covered by this one
	Started    time.Time
	Finished   time.Time // zero while running
	NextTry    time.Time // zero unless failed
	Error      string
}

// ErrSlotTaken says that a slot was begun or done already.
var ErrSlotTaken = errors.New("this slot was taken already")

// BeginSlot records that a slot's work begins. A slot that failed, or that was
// left running by a process that died, is begun again; of two processes that
// begin the same slot, one gets ErrSlotTaken. The caller holds the daemon's lock.
func (tx *Tx) BeginSlot(s Slot) (int, error) {
	attempts, ok, err := rowOf(tx.View, fmt.Sprintf("begin slot %s",
		s.Name()), scanValue[int],
		`INSERT INTO job_slot (job, slot, due_at, state, missed, started_at, unfinished) VALUES (?, ?, ?, 'running', ?, ?, 1)
		ON CONFLICT (job, slot) DO UPDATE SET state = 'running', attempts = attempts + 1,
			unfinished = unfinished + 1, started_at = excluded.started_at, finished_at = NULL, next_try = NULL
		WHERE state IN ('running', 'failed') RETURNING attempts`, s.Job, s.Key, stamp(s.Due), s.Missed, stamp(tx.Now))
	if err == nil && !ok {
		err = fmt.Errorf("%s: %w", s.Name(), ErrSlotTaken)
	}
	return attempts, err
}

// FinishSlot records how a slot's work ended. It may be called in the
// transaction of the work itself, and again after it.
func (tx *Tx) FinishSlot(s Slot) error {
	return tx.do("finish slot "+s.Name(), `UPDATE job_slot SET state = ?, finished_at = ?, next_try = ?, error = ?, unfinished = 0 WHERE job = ? AND slot = ? AND state <> 'done'`,
		s.State, stamp(tx.Now), stampOrNull(s.NextTry), s.Error, s.Job, s.Key)
}

// LeaveSlot records that the process stopped in order before the slot's end: it stays begun, and the next process
// takes it up.
func (tx *Tx) LeaveSlot(s Slot) error {
	return tx.do("leave slot "+s.Name(), `UPDATE job_slot SET unfinished = max(0, unfinished - 1) WHERE job = ? AND slot = ? AND state = 'running'`, s.Job, s.Key)
}

// SlotDone records within the work's own transaction that a slot is done, so
// that the work and its record are kept together or not at all. A key that was
// never begun, such as a round asked for by hand, is left alone. name is what
// Slot.Name returned.
func (tx *Tx) SlotDone(name string) error {
	at := strings.LastIndex(name, " ")
	if at < 0 {
		return nil
	}
	return tx.FinishSlot(Slot{Job: name[:at], Key: name[at+1:], State: SlotDone})
}

// Name returns job and key in one, unique over all jobs.
func (s Slot) Name() string { return s.Job + " " + s.Key }

// PassSlot records a slot that was due before its job, or its schedule, was set up: slots missed are counted from
// it.
func (tx *Tx) PassSlot(s Slot) error {
	return tx.do("record slot "+s.Name(), `INSERT INTO job_slot (job, slot, due_at, state, started_at, finished_at) VALUES (?1, ?2, ?3, 'passed', ?4, ?4) ON CONFLICT DO NOTHING`,
		s.Job, s.Key, stamp(s.Due), stamp(tx.Now))
}

// JobSchedule returns the schedule that a job had last; known is false when none is on record.
func (s *Store) JobSchedule(ctx context.Context, job string) (schedule string, known bool, err error) {
	return rowOf(s.View(ctx), "read the schedule of "+job, scanValue[string], `SELECT schedule FROM job WHERE name = ?`,
		job)
}

// PutJobSchedule records the schedule that a job has from now on.
func (tx *Tx) PutJobSchedule(job, schedule string) error {
	return tx.do("record the schedule of "+job, `INSERT INTO job (name, schedule) VALUES (?, ?) ON CONFLICT (name) DO UPDATE SET schedule = excluded.schedule`, job, schedule)
}

// LastRun is LastSlot without the slots that were never meant to run.
func (s *Store) LastRun(ctx context.Context, job string, then time.Time) (slot Slot, ok bool, err error) {
	return s.newest(ctx, job, then, SlotPassed)
}

// LastSlot returns the newest slot of a job that was due by then; ok is false
// when there was none. Slots after then, from a time when the machine's clock
// was ahead, do not hold a job back.
func (s *Store) LastSlot(ctx context.Context, job string, then time.Time) (slot Slot, ok bool, err error) {
	return s.newest(ctx, job, then, "")
}

func (s *Store) newest(ctx context.Context, job string, then time.Time,
	without SlotState) (slot Slot, ok bool, err error) {
	return rowOf(s.View(ctx), "read slots of "+job, scanSlot,
		`SELECT job, slot, due_at, state, attempts, missed, started_at, finished_at, next_try, error, unfinished
		FROM job_slot WHERE job = ? AND due_at <= ? AND state <> ? ORDER BY due_at DESC, slot DESC
			LIMIT 1`, job, stamp(then), without)
}

func scanSlot(row scanner) (s Slot, err error) {
	err = row.Scan(&s.Job, &s.Key, instant{&s.Due}, &s.State, &s.Attempts, &s.Missed, instant{&s.Started},
		instant{&s.Finished}, instant{&s.NextTry}, &s.Error, &s.Unfinished)
	return s, err
}

// Jobs returns the names of the jobs that have slots on record, in order.
func (s *Store) Jobs(ctx context.Context) ([]string, error) {
	return rowsOf(s.View(ctx), "read jobs", scanValue[string], `SELECT DISTINCT job FROM job_slot ORDER BY job`)
}

// PruneSlots forgets all but the newest keep slots of each job.
func (s *Store) PruneSlots(ctx context.Context, keep int) error {
	return s.InTx(ctx, func(tx *Tx) error {
		return tx.do("forget old slots", `DELETE FROM job_slot WHERE (job, slot) IN (
			SELECT job, slot FROM (SELECT job, slot, row_number() OVER (PARTITION BY job
				ORDER BY due_at DESC, slot DESC) AS n FROM job_slot) WHERE n > ?)`, keep)
	})
}
