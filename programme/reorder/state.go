package reorder

import (
	"fmt"

	"github.com/kitmuster/kitmuster/programme"
)

// Event is what happens to a proposal.
type Event string

// Events in a proposal's life. Only Send and Lapse happen by themselves; each
// of the others is something a person says.
const (
	Send    Event = "send"    // the mail has gone out
	Accept  Event = "accept"  // the client says yes
	Decline Event = "decline" // the client says no
	Order   Event = "order"   // blanks and sheets are ordered from suppliers
	Receive Event = "receive" // the finished pieces are handed over
	Lapse   Event = "lapse"   // nobody answered, and a newer round looks again
	Cancel  Event = "cancel"  // suppliers took an order back
)

// steps holds every allowed step; all others are refused.
var steps = map[State]map[Event]State{
	Drafted:  {Send: Sent, Accept: Accepted, Decline: Declined, Lapse: Lapsed},
	Sent:     {Accept: Accepted, Decline: Declined, Lapse: Lapsed},
	Accepted: {Order: Ordered, Decline: Declined},
	Ordered:  {Receive: Received, Cancel: Declined},
	Declined: {},
	Received: {},
	Lapsed:   {},
}

// StateError is a refused step; its text says what the owner can do instead.
type StateError struct {
	State State
	Event Event
}

// Next returns the state after an event, or a *StateError and the same state
// when the event cannot happen then. A proposal may be accepted by telephone
// before its mail went out, and declined until it is ordered.
func Next(state State, event Event) (State, error) {
	if to, ok := steps[state][event]; ok {
		return to, nil
	}
	return state, &StateError{state, event}
}

// Error says why not, and what to do.
func (e *StateError) Error() string {
	if _, known := steps[e.State]; !known {
		return fmt.Sprintf("a proposal cannot be %q; the states are drafted, sent, accepted, declined, ordered, received and lapsed", string(e.State))
	}
	if e.Event.done() == e.State {
		return fmt.Sprintf("the proposal is already %s; nothing was changed", e.State)
	}
	return "the proposal " + e.State.is() + "; " + e.Event.needs(e.State)
}

// done is the state that the event usually leads to.
func (e Event) done() State {
	switch e {
	case Send:
		return Sent
	case Accept:
		return Accepted
	case Decline, Cancel:
		return Declined
	case Order:
		return Ordered
	case Receive:
		return Received
	case Lapse:
		return Lapsed
	}
	return ""
}

// is says in words where a proposal stands.
func (s State) is() string {
	switch s {
	case Drafted:
		return "is drafted and has not gone out"
	case Sent:
		return "is with the client and not answered"
	case Accepted:
		return "is accepted and not ordered yet"
	case Declined:
		return "was declined"
	case Ordered:
		return "is ordered from the suppliers"
	case Received:
		return "has been received and its pieces are issued"
	case Lapsed:
		return "lapsed without an answer, and a newer round has looked at the client again"
	}
	return "is in no known state"
}

// needs says what has to happen, or what to do instead.
func (e Event) needs(s State) string {
	switch {
	case s == Declined || s == Lapsed:
		return "run a round for this client to propose from today's records"
	case s == Received:
		return "a further need will be in the next round"
	case e == Receive && s == Accepted:
		return "record that it is ordered first, then that it is received"
	case e == Receive, e == Order:
		return "record the client's yes first: accept it"
	case e == Decline && s == Ordered:
		return "cancel it with the suppliers first, then record that as cancelled"
	case e == Cancel && s == Accepted:
		return "nothing is ordered, so there is nothing to cancel: decline it"
	case e == Cancel:
		return "nothing is ordered, so there is nothing to cancel"
	case e == Lapse:
		return "only a proposal that waits for an answer can lapse"
	case e == Send, e == Accept:
		return "the client has said yes already"
	}
	return fmt.Sprintf("%q cannot happen to it", string(e))
}

// Open reports whether the proposal still waits for an answer.
func (s State) Open() bool { return s == Drafted || s == Sent }

// Coming reports whether pieces of the proposal are to be expected.
func (s State) Coming() bool { return s == Accepted || s == Ordered }

// Lapses reports whether a round of that date makes the proposal lapse: it
// waits for an answer and its last day for a yes is over. Until a round says
// so a late yes still counts; it only moves the arrival.
func (p *Proposal) Lapses(asOf programme.Date) bool {
	return p.State.Open() && asOf > p.OrderBy
}

// ArrivesAfter returns when the pieces are in hands if the yes comes on that
// day: the promised date, or later by as many days as the yes is late,
// weekends and closed days apart.
func (p *Proposal) ArrivesAfter(yes programme.Date, closed programme.ClosedDays) programme.Date {
	if yes <= p.OrderBy {
		return p.Arrives
	}
	c := calendar{closed}
	return c.onOrAfter(c.add(p.Arrives, c.between(p.OrderBy, c.onOrAfter(yes))))
}
