package reorder

import (
	"fmt"
	"slices"
	"strings"

	"github.com/kitmuster/kitmuster/programme"
)

// Event is an event in the life of a proposal.
type Event string

// Events in a proposal's life. Send, Revise and Lapse happen by themselves;
// each of the others is something a person says.
const (
	Send    Event = "send"    // the mail has gone out
	Revise  Event = "revise"  // a round wrote it anew under the same number
	Change  Event = "change"  // other numbers of pieces
	Accept  Event = "accept"  // the client says yes
	Wait    Event = "put off" // the client says not now, ask again on a day
	Decline Event = "decline" // the client says no
	Order   Event = "order"   // blanks and sheets are ordered from suppliers
	Arrive  Event = "arrive"  // some of the goods are handed over, others are still to come
	Remake  Event = "remake"  // pieces must be printed again
	Receive Event = "receive" // all that will come is handed over
	Lapse   Event = "lapse"   // nobody answered, and nothing is needed any more
	Cancel  Event = "cancel"  // suppliers took an order back
)

// steps holds every allowed step; all others are refused.
var steps = map[State]map[Event]State{
	Drafted: {Send: Sent, Revise: Drafted, Change: Drafted, Accept: Accepted, Wait: PutOff, Decline: Declined,
		Lapse: Lapsed},
	Sent:         {Revise: Drafted, Change: Sent, Accept: Accepted, Wait: PutOff, Decline: Declined, Lapse: Lapsed},
	PutOff:       {Revise: Drafted, Change: PutOff, Accept: Accepted, Wait: PutOff, Decline: Declined, Lapse: Lapsed},
	Accepted:     {Change: Accepted, Wait: PutOff, Decline: Declined, Order: Ordered},
	Declined:     {Accept: Accepted},
	Ordered:      {Arrive: PartReceived, Remake: Ordered, Receive: Received, Cancel: Declined},
	PartReceived: {Arrive: PartReceived, Remake: PartReceived, Receive: Received},
	Received:     {Remake: PartReceived},
	Lapsed:       {Accept: Accepted},
}

// StateError is a refused step; its text says what the owner can do instead.
type StateError struct {
	State State
	Event Event
}

// Next returns the state after an event, or a *StateError and the same state
// when the event cannot happen then. This is the whole life of a proposal:
//
//	state         | event -> state
//	--------------+---------------------------------------------------------------
//	drafted       | send -> sent; revise, change -> drafted; accept -> accepted;
//	              | put off -> put off; decline -> declined; lapse -> lapsed
//	sent          | revise -> drafted; change -> sent; accept -> accepted;
//	              | put off -> put off; decline -> declined; lapse -> lapsed
//	put off       | revise -> drafted; change, put off -> put off;
//	              | accept -> accepted; decline -> declined; lapse -> lapsed
//	accepted      | change -> accepted; put off -> put off; decline -> declined;
//	              | order -> ordered
//	declined      | accept -> accepted
//	ordered       | arrive -> part received; remake -> ordered;
//	              | receive -> received; cancel -> declined
//	part received | arrive, remake -> part received; receive -> received
//	received      | remake -> part received
//	lapsed        | accept -> accepted
//
// A proposal may be accepted by telephone before its mail went out, and a yes
// that comes late, after it lapsed or after a no, is a yes. What is ordered is
// cancelled with the suppliers, not declined.
func Next(state State, event Event) (State, error) {
	if to, ok := steps[state][event]; ok {
		return to, nil
	}
	return state, &StateError{state, event}
}

// Error says why not, and what to do.
func (e *StateError) Error() string {
	if !slices.Contains(States(), e.State) {
		return fmt.Sprintf("a proposal cannot be %q; the states are %s", string(e.State), stateList())
	}
	if e.Event.done() == e.State {
		return fmt.Sprintf("the proposal is already %s; nothing was changed", e.State)
	}
	words, _ := e.Event.needs(e.State)
	return "the proposal " + e.State.is() + "; " + words
}

// First returns the event that has to be recorded before; none where none helps.
func (e *StateError) First() Event {
	if e.Event.done() == e.State {
		return ""
	}
	_, first := e.Event.needs(e.State)
	return first
}

func stateList() string {
	words := make([]string, 0, len(States()))
	for _, s := range States() {
		words = append(words, string(s))
	}
	return strings.Join(words[:len(words)-1], ", ") + " and " + words[len(words)-1]
}

// done returns the state that the event usually leads to; none for events that leave
// a proposal where it stands.
func (e Event) done() State {
	switch e {
	case Send:
		return Sent
	case Accept:
		return Accepted
	case Wait:
		return PutOff
	case Decline, Cancel:
		return Declined
	case Order:
		return Ordered
	case Arrive:
		return PartReceived
	case Receive:
		return Received
	case Lapse:
		return Lapsed
	case Change, Revise, Remake:
	}
	return ""
}

// stateWords are all that people are told of each state.
var stateWords = map[State]struct {
	word   string // behind a proposal, in a list
	clause string // behind "the proposal"
}{
	Drafted:      {"written, not yet sent", "is drafted and has not gone out"},
	Sent:         {"sent, no answer yet", "is with the client and not answered"},
	PutOff:       {"put off", "is put off until a day that the client named"},
	Accepted:     {"accepted, to be ordered", "is accepted and not ordered yet"},
	Declined:     {"declined", "was declined"},
	Ordered:      {"ordered, not yet received", "is ordered from the suppliers"},
	PartReceived: {"received in part", "has been received in part"},
	Received:     {"received", "has been received and its pieces are issued"},
	Lapsed:       {"lapsed without an answer", "lapsed without an answer"},
}

// Word returns the name of the state in every mail, paper and screen.
func (s State) Word() string { return stateWords[s].word }

// is says in a clause where a proposal stands.
func (s State) is() string {
	if w, ok := stateWords[s]; ok {
		return w.clause
	}
	return "is in no known state"
}

// needs says what has to happen, by which event if there is one, or what to do instead.
func (e Event) needs(s State) (words string, first Event) {
	settled := s == Ordered || s == PartReceived
	switch {
	case s == Declined || s == Lapsed:
		return "if the client says yes after all, record that first: accept it", Accept
	case s == Received && (e == Arrive || e == Receive):
		return "pieces that must be made again are recorded with remake first", Remake
	case s == Received:
		return "a further need will be in the next round", ""
	case (e == Receive || e == Arrive || e == Remake) && s == Accepted:
		return "record that it is ordered first, then what arrived", Order
	case e == Receive, e == Arrive, e == Remake, e == Order && !settled:
		return "record the client's yes first: accept it", Accept
	case (e == Decline || e == Wait || e == Change) && s == Ordered:
		return "change or cancel it with the suppliers first; what they took back whole is recorded as cancelled, single pieces as given up when the rest arrives", ""
	case (e == Decline || e == Wait || e == Change || e == Cancel) && s == PartReceived:
		return "what will not come any more is recorded as given up", ""
	case e == Cancel && s == Accepted:
		return "nothing is ordered, so there is nothing to cancel: decline it", Decline
	case e == Cancel:
		return "nothing is ordered, so there is nothing to cancel", ""
	case e == Order:
		return "its goods are ordered already", ""
	case e == Lapse:
		return "only a proposal that waits for an answer can lapse", ""
	case e == Revise:
		return "a round writes only those anew that wait for an answer", ""
	case e == Send, e == Accept:
		return "the client has said yes already", ""
	}
	return fmt.Sprintf("%q cannot happen to it", string(e)), ""
}

// Open reports whether the proposal still waits for an answer.
func (s State) Open() bool { return s == Drafted || s == Sent }

// Coming reports whether pieces of the proposal are to be expected.
func (s State) Coming() bool { return s == Accepted || s == Ordered || s == PartReceived }

// Unsettled returns the states of a proposal that somebody may still answer in the
// usual course: a round writes these anew instead of making another one.
func Unsettled() []State { return []State{Drafted, Sent, PutOff} }

// OnItsWay returns the states in which pieces of a proposal are to be expected.
func OnItsWay() []State { return []State{Accepted, Ordered, PartReceived} }

// Lapses reports whether a round of that date, which finds that nothing is
// needed any more, makes the proposal lapse: it waits for an answer and its
// last day for a yes is over.
func (p *Proposal) Lapses(asOf programme.Date) bool {
	return (p.State.Open() || p.State == PutOff && asOf >= p.Until) && asOf > p.OrderBy
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
