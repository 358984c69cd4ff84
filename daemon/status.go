package daemon

import (
	"time"

	"github.com/kitmuster/kitmuster/notify/outbox"
)

// Status is the state of a shop's daemon; its JSON is what 'status --json' prints.
type Status struct {
	Format   int            `json:"format"`
	At       time.Time      `json:"at"`
	Running  string         `json:"running"` // who holds the lock; empty = nobody
	Zone     string         `json:"time_zone"`
	Jobs     []JobStatus    `json:"jobs"`
	Outbox   OutboxStatus   `json:"outbox"`
	Files    []FileStatus   `json:"files"`
	Drop     DropStatus     `json:"drop_folder"`
	Backup   BackupStatus   `json:"backup"`
	Database DatabaseStatus `json:"database"`
	// Untold is the number of events that wait for the owner's next mail.
	Untold int `json:"untold_events"`
	// Worries lists in sentences what a person should look at.
	Worries []string `json:"worries"`
}

// JobStatus is one job.
type JobStatus struct {
	Name     string     `json:"name"`
	Schedule string     `json:"schedule"`       // empty when the settings cannot be read
	Next     *time.Time `json:"next,omitempty"` // likewise
	State    string     `json:"state"`          // of the last slot; empty = none yet
	Slot     string     `json:"slot,omitempty"`
	Finished *time.Time `json:"finished,omitempty"`
	NextTry  *time.Time `json:"next_try,omitempty"`
	Attempts int        `json:"attempts,omitempty"`
	Missed   int        `json:"missed,omitempty"`
	Error    string     `json:"error,omitempty"`
}

// OutboxStatus is the outbox and its transport.
type OutboxStatus struct {
	Way     string     `json:"way"` // smtp or folder; empty when the settings cannot be read
	Counts  counts     `json:"deliveries"`
	Closed  bool       `json:"closed"`
	Why     string     `json:"why,omitempty"`
	NextTry *time.Time `json:"next_try,omitempty"`
}

// FileStatus is a folder for what a person sends or opens by hand.
type FileStatus struct {
	Folder  string `json:"folder"`
	Waiting int    `json:"waiting"` // to be written
	Written int    `json:"written"`
	Why     string `json:"why,omitempty"` // it cannot be written to; empty = it can
}

type counts map[outbox.State]int

// DropStatus is the drop folder.
type DropStatus struct {
	Folder  string   `json:"folder"` // empty when the settings cannot be read
	Waiting []string `json:"waiting"`
}

// BackupStatus is the backups.
type BackupStatus struct {
	Folder string     `json:"folder"`
	Copies int        `json:"copies"`
	Newest *time.Time `json:"newest,omitempty"`
}

// DatabaseStatus is the database's files.
type DatabaseStatus struct {
	Path  string `json:"path"`
	Bytes int64  `json:"bytes"` // with its write-ahead log
}
