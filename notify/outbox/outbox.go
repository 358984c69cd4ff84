// Package outbox decides which letter is tried when: what an answer of a
// server means, how long to wait, and when to stop. Its decisions are pure;
// the rows come from the store and the time and the draw are arguments.
//
// Delivery is at least once: a try that ends without an answer may have been
// stored by the server, and is made again with the same Message-ID.
package outbox

import (
	"context"
	"time"
)

// State is the state of the delivery to one recipient.
type State string

// States of a delivery.
const (
	Waiting  State = "waiting"
	Accepted State = "accepted" // by the server, or written to the folder
	Refused  State = "refused"  // for good
	GivenUp  State = "given up" // put off, or without an answer, for longer than the policy waits
	Held     State = "held"     // may have arrived several times over, and waits for a person
	Dropped  State = "dropped"  // taken out by a person
)

// Delivery is one recipient of a message.
type Delivery struct {
	Recipient string
	State     State
	Attempts  int
	Unsure    int // tries that ended without an answer
	NextTry   time.Time
	FirstTry  time.Time // zero before the first
	LastTry   time.Time
	Settled   time.Time // zero while waiting
	Code      int       // of the last answer; 0 = none
	Answer    string    // the server's words, or what went wrong
}

// Channel is the state of a transport as a whole. Its zero value is in order.
type Channel struct {
	Failures     int
	FailingSince time.Time
	NextTry      time.Time // zero = at once
	Stopped      time.Time // not zero: the login was refused; nothing is tried until somebody mends it
	Answer       string
}

// Sender is a transport.
type Sender interface {
	// Name is the word for it in records: smtp, folder, drafts or papers.
	Name() string
	// Open connects; its error is read with ResultOf.
	Open(ctx context.Context) (Session, error)
}

// Session takes many messages over one connection.
type Session interface {
	// Send delivers a letter to one of its recipients; nil means that it was accepted.
	Send(ctx context.Context, l *Letter, to string) error
	Close() error
}

// Outcome is the result of a try.
type Outcome int

// Outcomes of a try.
const (
	OK          Outcome = iota
	Temporary           // the server put this message off (4xx)
	Permanent           // the server will never take this message (5xx)
	Unknown             // no answer after the message was handed over
	Unreachable         // the server could not be reached or speaks no TLS: no fault of the message
	BadLogin            // the server refused name or password
)

// Result is a try's outcome as an error, so that it travels as one.
type Result struct {
	Outcome Outcome
	Code    int    // SMTP reply code; 0 = none
	Says    string // a sentence without secrets
	// Sender says that a refusal is of the address that the message comes from.
	Sender bool
	// TooLarge says that a refusal is of the message's size; Most is the greatest
	// that would be taken, in bytes, 0 = not known.
	TooLarge bool
	Most     int
	// Broken says that the session is of no more use.
	Broken bool
	Err    error
}

// Error returns the sentence.
func (r *Result) Error() string { return r.Says }

// Unwrap returns what was behind it.
func (r *Result) Unwrap() error { return r.Err }
