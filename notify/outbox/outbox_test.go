package outbox_test

import (
	"errors"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"github.com/kitmuster/kitmuster/notify/outbox"
)

var monday = time.Date(2026, 3, 9, 6, 30, 0, 0, time.UTC)

func TestAfterATry(t *testing.T) {
	p := outbox.DefaultPolicy()
	for _, c := range []struct {
		name   string
		before outbox.Delivery
		result outbox.Result
		want   outbox.State
		next   time.Duration
		unsure bool
		told   bool
	}{
		{name: "accepted is settled", result: outbox.Result{Outcome: outbox.OK}, want: outbox.Accepted},
		{name: "4xx waits a minute at first", result: outbox.Result{Outcome: outbox.Temporary, Code: 451},
			want: outbox.Waiting, next: time.Minute},
		{name: "the third 4xx waits four minutes", before: outbox.Delivery{Attempts: 2},
			result: outbox.Result{Outcome: outbox.Temporary, Code: 451}, want: outbox.Waiting, next: 4 * time.Minute},
		{name: "waits grow no longer than four hours", before: outbox.Delivery{Attempts: 40},
			result: outbox.Result{Outcome: outbox.Temporary}, want: outbox.Waiting, next: 4 * time.Hour},
		{name: "5xx stops and is told", result: outbox.Result{Outcome: outbox.Permanent, Code: 550,
			Says: "no such user"}, want: outbox.Refused, told: true},
		{name: "no answer is tried again and remembered", result: outbox.Result{Outcome: outbox.Unknown},
			want: outbox.Waiting, next: 30 * time.Minute, unsure: true},
		{name: "the third without an answer waits for a person",
			before: outbox.Delivery{Attempts: 2, Unsure: 2, FirstTry: monday.Add(-time.Hour)},
			result: outbox.Result{Outcome: outbox.Unknown}, want: outbox.Held, unsure: true, told: true},
		{name: "five days of 4xx are enough", before: outbox.Delivery{Attempts: 30,
			FirstTry: monday.Add(-120 * time.Hour)}, result: outbox.Result{Outcome: outbox.Temporary,
			Code: 450}, want: outbox.GivenUp, told: true},
		{name: "five days with few tries are not enough",
			before: outbox.Delivery{Attempts: 2, FirstTry: monday.Add(-120 * time.Hour)},
			result: outbox.Result{Outcome: outbox.Temporary, Code: 450}, want: outbox.Waiting, next: 4 * time.Minute},
	} {
		t.Run(c.name, func(t *testing.T) {
			c.before.State = outbox.Waiting
			got, notice := p.After(c.before, &c.result, monday, 0.5)
			require.Equal(t, c.want, got.State)
			require.Equal(t, c.unsure, got.Unsure > 0)
			require.Equal(t, c.told, notice.What != "")
			require.Equal(t, c.before.Attempts+1, got.Attempts)
			if c.want == outbox.Waiting {
				require.Equal(t, c.next, got.NextTry.Sub(monday))
				require.Zero(t, got.Settled)
			} else if c.want != outbox.Held {
				require.Equal(t, monday, got.Settled)
			}
		})
	}
}

func TestAServerOutOfReachCostsNoMessageATry(t *testing.T) {
	p := outbox.DefaultPolicy()
	d := outbox.Delivery{Recipient: "anna@example.com", State: outbox.Waiting, Attempts: 3, NextTry: monday}
	for _, o := range []outbox.Outcome{outbox.Unreachable, outbox.BadLogin} {
		got, notice := p.After(d, &outbox.Result{Outcome: o}, monday.Add(time.Hour), 0.1)
		require.Equal(t, d, got)
		require.Zero(t, notice)
	}
}

func TestARefusedLoginStopsUntilTheSettingsChange(t *testing.T) {
	p := outbox.DefaultPolicy()
	c, notice := p.AfterChannel(outbox.Channel{}, &outbox.Result{Outcome: outbox.BadLogin, Code: 535,
		Says: "535 bad password"}, monday, 0)
	require.NotZero(t, notice)
	require.False(t, c.Ready(monday.AddDate(1, 0, 0)), "a year later it is still not tried by itself")
	require.False(t, c.Mended(monday.Add(-time.Hour)))
	require.True(t, c.Mended(monday.Add(time.Hour)))
	_, again := p.AfterChannel(c, &outbox.Result{Outcome: outbox.BadLogin}, monday.Add(time.Hour), 0)
	require.Zero(t, again, "told once")
}

func TestAServerOutOfReachIsToldAfterADayAndForgottenWhenItIsBack(t *testing.T) {
	p := outbox.DefaultPolicy()
	var c outbox.Channel
	told, tries, now := map[string]bool{}, 0, monday
	for now.Before(monday.AddDate(0, 0, 7)) {
		var notice outbox.Notice
		c, notice = p.AfterChannel(c, &outbox.Result{Outcome: outbox.Unreachable, Says: "connection refused"}, now, 0.5)
		if notice.What != "" {
			require.GreaterOrEqual(t, now.Sub(monday), 24*time.Hour)
			told[notice.What] = true
		}
		require.False(t, c.Ready(now))
		tries++
		now = c.NextTry
	}
	require.Len(t, told, 1, "one event, however often it is tried")
	require.InDelta(t, 7*24/4, tries, 15, "about one try in four hours")
	c, _ = p.AfterChannel(c, &outbox.Result{Outcome: outbox.OK}, now, 0.5)
	require.Zero(t, c)
}

// A machine that believed in a later year, until its clock was set right, must
// not wait for that year.
func TestWhatAWrongClockPutOffIsNotWaitedFor(t *testing.T) {
	p := outbox.DefaultPolicy()
	later := monday.AddDate(5, 0, 0)
	c, _ := p.AfterChannel(outbox.Channel{Failures: 30}, &outbox.Result{Outcome: outbox.Unreachable}, later, 0.999)
	require.False(t, c.Ready(later))
	require.False(t, c.Ready(later.Add(-time.Second)), "an hour or a second back is waited for")
	require.True(t, c.Ready(monday))
	c, _ = p.AfterChannel(outbox.Channel{FailingSince: later, Failures: 3}, &outbox.Result{Outcome: outbox.Unreachable},
		monday, 0.5)
	require.Equal(t, monday, c.FailingSince, "it cannot have been out of reach since a time to come")
	c, _ = p.AfterChannel(outbox.Channel{}, &outbox.Result{Outcome: outbox.BadLogin}, later, 0.5)
	require.False(t, c.Ready(monday), "a refused login stays stopped")

	d := outbox.Delivery{State: outbox.Waiting, Attempts: 40, FirstTry: later.AddDate(0, 0, -6)}
	d, _ = p.After(d, &outbox.Result{Outcome: outbox.Temporary}, monday, 0.5)
	require.Equal(t, outbox.Waiting, d.State)
	require.Equal(t, monday, d.FirstTry)
}

func TestWaitsStayWithinTheirSpread(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := outbox.DefaultPolicy()
		n := rapid.IntRange(1, 100).Draw(t, "n")
		draw := rapid.Float64Range(0, 0.999999).Draw(t, "draw")
		w := p.Wait(n, draw)
		require.GreaterOrEqual(t, w, time.Duration(0.8*float64(p.First)))
		require.LessOrEqual(t, w, time.Duration(1.2*float64(p.Longest)))
		require.GreaterOrEqual(t, p.Wait(n+1, draw), w, "patience never shrinks")
		require.Less(t, w, outbox.LongestWait)
	})
}

func TestAllowance(t *testing.T) {
	require.Equal(t, 7, outbox.Allowance(0, 1000, 7))
	require.Equal(t, 5, outbox.Allowance(30, 25, 7))
	require.Equal(t, 0, outbox.Allowance(30, 31, 7))
}

func TestResultOfAForeignErrorIsUnknown(t *testing.T) {
	r := outbox.ResultOf(errors.New("cable cut"))
	require.Equal(t, outbox.Unknown, r.Outcome)
	require.True(t, r.Broken)
	require.Equal(t, outbox.OK, outbox.ResultOf(nil).Outcome)
}

// At the very moment at which a time is up it is up, and not a try later.
func TestTimesAreUpAtTheirMoment(t *testing.T) {
	p := outbox.DefaultPolicy()
	require.True(t, outbox.Due(monday, monday))
	require.False(t, outbox.Due(monday.Add(outbox.LongestWait), monday), "as far ahead as a wait may be")
	require.True(t, outbox.Due(monday.Add(outbox.LongestWait+1), monday))

	d := outbox.Delivery{State: outbox.Waiting, Attempts: p.Tries - 1, FirstTry: monday}
	later, notice := p.After(d, &outbox.Result{Outcome: outbox.Temporary, Says: "451 later"}, monday.Add(p.GiveUp), 0.5)
	require.Equal(t, outbox.GivenUp, later.State)
	require.Contains(t, notice.What, "after 12 tries in 5 days")
	later, _ = p.After(d, &outbox.Result{Outcome: outbox.Temporary}, monday.Add(p.GiveUp-1), 0.5)
	require.Equal(t, outbox.Waiting, later.State)

	c, notice := p.AfterChannel(outbox.Channel{FailingSince: monday}, &outbox.Result{Outcome: outbox.Unreachable},
		monday.Add(24*time.Hour), 0.5)
	require.Equal(t, 1, c.Failures)
	require.Contains(t, notice.What, "out of reach since 2026-03-09")
	c, _ = p.AfterChannel(outbox.Channel{Failures: 1}, &outbox.Result{Outcome: outbox.BadLogin}, monday, 0.5)
	require.Equal(t, 2, c.Failures)
}

// A letter's file bears its name or, where it has none, its Message-ID before the @.
func TestALettersFileHasAName(t *testing.T) {
	for want, l := range map[string]outbox.Letter{
		"reorder-7": {Name: "reorder-7", MessageID: "x@shop.example"}, "x.y": {MessageID: "x.y@shop.example"},
		"bare": {MessageID: "bare"},
	} {
		require.Equal(t, want, l.FileName())
	}
}

// What the owner is told of a refusal says who can mend it.
func TestARefusalSaysWhoCanMendIt(t *testing.T) {
	for want, r := range map[string]outbox.Result{
		"Check the address": {Outcome: outbox.Permanent, Says: "no such user"},
		"It cannot be made smaller": {Outcome: outbox.Permanent, TooLarge: true,
			Says: "too large"},
		"The server does not take mail from this address": {Outcome: outbox.Permanent, Sender: true, Says: "not you"},
	} {
		_, notice := outbox.DefaultPolicy().After(outbox.Delivery{}, &r, monday, 0.5)
		require.Equal(t, r.Says, notice.What)
		require.Contains(t, notice.Mend, want)
	}
	behind := errors.New("behind it")
	r := &outbox.Result{Says: "a sentence", Err: behind}
	require.EqualError(t, r, "a sentence")
	require.ErrorIs(t, r, behind)
}
