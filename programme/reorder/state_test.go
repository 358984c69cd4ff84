package reorder_test

import (
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/goldentest"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

var (
	states = reorder.States()
	events = []reorder.Event{
		reorder.Send, reorder.Revise, reorder.Change, reorder.Accept, reorder.Wait, reorder.Decline,
		reorder.Order, reorder.Arrive, reorder.Remake, reorder.Receive, reorder.Lapse, reorder.Cancel,
	}
)

// tableOf reads the table in the doc comment of Next, so that it is true.
func tableOf(t *testing.T) map[reorder.State]map[reorder.Event]reorder.State {
	t.Helper()
	text, err := os.ReadFile("state.go")
	require.NoError(t, err)
	allowed := map[reorder.State]map[reorder.Event]reorder.State{}
	var from reorder.State
	for line := range strings.SplitSeq(string(text), "\n") {
		state, cell, ok := strings.Cut(strings.TrimPrefix(line, "//\t"), "|")
		if !ok || !strings.HasPrefix(line, "//\t") || !strings.Contains(cell, "->") ||
			strings.Contains(cell, "event -> state") {
			continue
		}
		if state = strings.TrimSpace(state); state != "" {
			from = reorder.State(state)
			allowed[from] = map[reorder.Event]reorder.State{}
		}
		for rule := range strings.SplitSeq(strings.TrimSuffix(strings.TrimSpace(cell), ";"), "; ") {
			on, to, _ := strings.Cut(rule, " -> ")
			for e := range strings.SplitSeq(on, ", ") {
				allowed[from][reorder.Event(e)] = reorder.State(to)
			}
		}
	}
	return allowed
}

// Every state meets every event; the golden page holds all 108 answers as the
// owner would read them.
func TestEveryEventInEveryState(t *testing.T) {
	allowed := tableOf(t)
	var page []byte
	for _, s := range states {
		for _, e := range events {
			to, err := reorder.Next(s, e)
			want, ok := allowed[s][e]
			if ok {
				require.NoError(t, err, "%s %s", s, e)
				require.Equal(t, want, to, "%s %s", s, e)
				page = append(page, string(s)+" + "+string(e)+" -> "+string(to)+"\n"...)
				continue
			}
			var refused *reorder.StateError
			require.ErrorAs(t, err, &refused, "%s %s", s, e)
			require.Equal(t, s, to, "a refused step changes nothing")
			if first := refused.First(); first != "" {
				require.Contains(t, allowed[s], first, "what has to be recorded first can be: %s %s", s, e)
				require.Regexp(t, "first|there is nothing to cancel", err.Error())
			} else {
				require.NotRegexp(t, "record .* first", err.Error())
			}
			page = append(page, string(s)+" + "+string(e)+": "+err.Error()+"\n"...)
		}
	}
	goldentest.Equal(t, "states.txt", page)
}

func TestEveryStateCanBeReachedAndEndsSomewhere(t *testing.T) {
	seen := map[reorder.State]bool{reorder.Drafted: true}
	for range states {
		for s := range seen {
			for _, e := range events {
				if to, err := reorder.Next(s, e); err == nil {
					seen[to] = true
				}
			}
		}
	}
	require.Len(t, seen, len(states))
}

func TestAStateFromElsewhereIsRefused(t *testing.T) {
	_, err := reorder.Next("shipped", reorder.Accept)
	require.ErrorContains(t, err, `cannot be "shipped"`)
}

func TestAProposalLapsesOnceItsLastDayForAYesIsOver(t *testing.T) {
	p := reorder.Proposal{State: reorder.Sent, OrderBy: monday}
	require.False(t, p.Lapses(monday))
	require.True(t, p.Lapses(monday+1))
	p.State = reorder.Accepted
	require.False(t, p.Lapses(monday+100), "a yes does not lapse")
}

func TestALateYesMovesTheArrival(t *testing.T) {
	p := reorder.Proposal{State: reorder.Sent, OrderBy: monday, Arrives: programme.NewDate(2026, 3, 12)}
	require.Equal(t, "2026-03-12", p.ArrivesAfter(monday-3, nil).String())
	require.Equal(t, "2026-03-12", p.ArrivesAfter(monday, nil).String())
	require.Equal(t, "2026-03-13", p.ArrivesAfter(monday+1, nil).String())
	require.Equal(t, "2026-03-16", p.ArrivesAfter(monday+2, nil).String(), "a Saturday becomes the Monday")
	require.Equal(t, "2026-03-17", p.ArrivesAfter(monday+2, closed(t, "2026-03-16")).String(),
		"where that is closed, the Tuesday")
	require.Equal(t, "2026-03-13", p.ArrivesAfter(monday+2, closed(t, "2026-03-03")).String(),
		"a closed day that the yes waited for is none of its lateness")
}
