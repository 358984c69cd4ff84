package message

import (
	"fmt"

	"github.com/kitmuster/kitmuster/notify/page"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

// now returns the proposal that knows what is urgent on the day of the round: of a form that stands, what the round
// would propose in its place.
func (d *Due) now() *reorder.Proposal {
	if d.Now != nil {
		return d.Now
	}
	return d.Proposal
}

// overdue reports whether the day for a yes to a form that stands is over.
func (d *Due) overdue() bool { return d.Stands && d.now().AsOf > d.Proposal.OrderBy }

// ifYesToday returns the day on which the pieces of a form that stands come if the yes comes on the day of the round.
func (d *Due) ifYesToday(t notation) programme.Date {
	return d.Proposal.ArrivesAfter(d.now().AsOf, t.shop.Closed)
}

// unanswered says since when an answer is missing, what the customer holds meanwhile, and how late it has become.
func (d *Due) unanswered(t notation) string {
	p := d.Proposal
	s := "no answer since " + t.day(p.Since())
	if days := d.now().AsOf.Sub(p.Since()); days > 0 {
		s += ", " + span(days) + " by now"
	}
	if !d.Stands {
		return s + fmt.Sprintf("; form %d is ready to send", p.Form())
	}
	s += "; the form they have still stands"
	if day := d.ifYesToday(t); day > p.Arrives {
		s += fmt.Sprintf("; a yes today brings it %s, %s later than it says", t.day(day), span(day.Sub(p.Arrives)))
	}
	return s
}

// span words a number of days, in weeks where it is whole ones.
func span(days int) string {
	if days > 0 && days%7 == 0 {
		return programme.NumberOf(days/7, "week")
	}
	return programme.NumberOf(days, "day")
}

// dates are the last day for a yes and the day on which the pieces come then; once that day is over, what a yes of
// the day of the round brings.
func (d *Due) dates(t notation) page.Text {
	by, there := t.day(d.Proposal.OrderBy), "there "+t.day(d.Proposal.Arrives)
	if d.overdue() {
		by, there = "was "+by, "yes today: "+t.day(d.ifYesToday(t))
	}
	return page.Plain(by).Below(page.Quiet(there))
}
