package outbox

import (
	"errors"
	"fmt"
	"math"
	"time"
)

// Policy holds how often and how long the outbox tries.
type Policy struct {
	// First is the wait after the first put-off; each further one doubles it up to Longest.
	First, Longest time.Duration
	// GiveUp is the time for which a server may put a message off before the owner is
	// told. RFC 5321 section 4.5.4.1 asks for at least four to five days.
	GiveUp time.Duration
	// Tries is the least number of tries before a message is given up:
	// time in which the server was out of reach or this machine was off does
	// not count.
	Tries int
	// Spread is the part of a wait that is left to chance, 0 to 1, so that many
	// messages do not come back in the same second.
	Spread float64
	// Silences is after how many tries without an answer a message waits for a
	// person: the recipient may have as many copies. AfterSilence is the least
	// wait before it is tried again; RFC 5321 section 4.5.4.1 asks for half an hour.
	Silences     int
	AfterSilence time.Duration
}

// DefaultPolicy waits a minute, then longer up to four hours, for five days.
func DefaultPolicy() Policy {
	return Policy{First: time.Minute, Longest: 4 * time.Hour, GiveUp: 5 * 24 * time.Hour, Tries: 12, Spread: 0.2,
		Silences: 3, AfterSilence: 30 * time.Minute}
}

// LongestWait is longer than any wait of the default policy.
const LongestWait = 5 * time.Hour

// Due reports whether a try that was planned for next is due at now. One further
// ahead than any wait was planned by a clock that has been set right since.
func Due(next, now time.Time) bool { return !now.Before(next) || next.Sub(now) > LongestWait }

// begun returns since when something goes on that was first seen at first, zero
// = not before; a time to come is one of a clock that was wrong.
func begun(first, now time.Time) time.Time {
	if first.IsZero() || first.After(now) {
		return now
	}
	return first
}

// Wait returns the time until the next try after n tries, n >= 1. draw is in
// [0, 1); the wait lies in [1-Spread, 1+Spread) of the doubling one.
func (p Policy) Wait(n int, draw float64) time.Duration {
	wait := min(math.Ldexp(float64(p.First), n-1), float64(p.Longest))
	return time.Duration(wait * (1 - p.Spread + 2*p.Spread*draw))
}

// ResultOf reads a sender's error; one that says nothing of itself is unknown.
func ResultOf(err error) *Result {
	if err == nil {
		return &Result{Outcome: OK}
	}
	if r, ok := errors.AsType[*Result](err); ok {
		return r
	}
	return &Result{Outcome: Unknown, Says: err.Error(), Broken: true, Err: err}
}

// Notice is something that a person must know; the zero value is nothing.
type Notice struct {
	What, Mend string
}

// After returns how a delivery stands after a try of a message at now, and
// what the owner must be told. Outcomes that are the channel's fault leave it
// as it was.
func (p Policy) After(d Delivery, r *Result, now time.Time, draw float64) (Delivery, Notice) {
	if r.Outcome == Unreachable || r.Outcome == BadLogin {
		return d, Notice{}
	}
	d.Attempts++
	d.LastTry, d.FirstTry = now, begun(d.FirstTry, now)
	d.Code, d.Answer = r.Code, r.Says
	switch r.Outcome {
	case OK:
		d.State, d.Settled = Accepted, now
		return d, Notice{}
	case Permanent:
		d.State, d.Settled = Refused, now
		if r.TooLarge {
			return d, Notice{What: r.Says, Mend: "It cannot be made smaller: ask the mail provider how large a mail may be, and see mail.most in config.yaml."}
		}
		if r.Sender {
			return d, Notice{What: r.Says, Mend: "The server does not take mail from this address: set mail.from_address in config.yaml to one that it takes, or ask the mail provider to allow it; then run the round or the command again that made the message."}
		}
		return d, Notice{What: r.Says,
			Mend: "Check the address; then run the round or the command again that made the message."}
	case Unknown:
		if d.Unsure++; d.Unsure >= p.Silences {
			d.State = Held
			return d, Notice{What: fmt.Sprintf("after %d tries the mail server never said whether it took it, so the recipient may have it several times, or not at all: %s", d.Unsure, r.Says),
				Mend: "Ask the recipient, and the mail provider why the server does not answer. 'kitmuster mail again N' sends it once more, 'kitmuster mail drop N' closes it; 'kitmuster mail list' shows N."}
		}
	case Temporary, Unreachable, BadLogin:
	}
	lasted := now.Sub(d.FirstTry)
	if lasted >= p.GiveUp && d.Attempts >= p.Tries {
		d.State, d.Settled = GivenUp, now
		return d, p.givenUp(d, r, lasted)
	}
	wait := p.Wait(d.Attempts, draw)
	if r.Outcome == Unknown {
		wait = max(wait, p.AfterSilence)
	}
	d.NextTry = now.Add(wait)
	return d, Notice{}
}

func (p Policy) givenUp(d Delivery, r *Result, lasted time.Duration) Notice {
	return Notice{What: fmt.Sprintf("after %d tries in %d days the mail server still puts it off: %s", d.Attempts,
		int(lasted.Hours()/24), r.Says), Mend: "Ask the mail provider why, with the server's words."}
}

// AfterChannel returns how a channel stands after a result, and what the owner
// must be told: a stop once, a server out of reach when it has been so for a
// day, with equal words at every further try.
func (p Policy) AfterChannel(c Channel, r *Result, now time.Time, draw float64) (Channel, Notice) {
	switch r.Outcome {
	case BadLogin:
		first := c.Stopped.IsZero()
		c.Failures++
		c.Stopped, c.Answer = now, r.Says
		if !first {
			return c, Notice{}
		}
		return c, Notice{What: "The login to the mail server does not work, so no mail is sent: " + r.Says,
			Mend: "Put the right user and password in place: it is tried again when their file has changed, or with 'kitmuster mail flush'. Nothing is tried until then, so that the account is not locked."}
	case Unreachable:
		c.Failures++
		c.FailingSince = begun(c.FailingSince, now)
		c.Answer = r.Says
		c.NextTry = now.Add(p.Wait(c.Failures, draw))
		if now.Sub(c.FailingSince) >= 24*time.Hour {
			return c, Notice{What: fmt.Sprintf("The mail server has been out of reach since %s: %s",
				c.FailingSince.UTC().Format("2006-01-02 15:04 UTC"), r.Says),
				Mend: "Messages wait and go out by themselves when it is back; 'kitmuster check --online' tries the connection."}
		}
		return c, Notice{}
	case OK, Temporary, Permanent, Unknown:
	}
	return Channel{}, Notice{}
}

// Mended reports whether a stopped channel may be tried again: its settings were
// changed after it stopped. changed is the newest change of the files that
// hold them.
func (c Channel) Mended(changed time.Time) bool {
	return !c.Stopped.IsZero() && changed.After(c.Stopped)
}

// Ready reports whether a channel may be used at now.
func (c Channel) Ready(now time.Time) bool { return c.Stopped.IsZero() && Due(c.NextTry, now) }

// Allowance returns how many messages may go out now when perMinute are
// allowed in any minute and recent went out in the last one; perMinute 0 = no limit.
func Allowance(perMinute, recent, want int) int {
	if perMinute <= 0 {
		return want
	}
	return max(0, min(want, perMinute-recent))
}
