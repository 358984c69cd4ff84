package document

import (
	"time"

	ics "github.com/arran4/golang-ical"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/clean"
)

// Dates are entries of one matter for a calendar.
type Dates struct {
	Shop  string
	Stamp programme.Date
	// Sequence counts the changes of the entries (RFC 5545, 3.8.7.4): a
	// calendar that has them takes the higher one.
	Sequence int
	// Withdrawn takes the entries out of the calendar again (RFC 5546, 3.2.5).
	Withdrawn bool
	Entries   []Entry
}

// Entry is one whole day in a calendar.
type Entry struct {
	UID  string // stable, so that a second file changes the entry and adds none
	On   programme.Date
	What string
	Note string
}

// Calendar writes entries as an iCalendar file (RFC 5545), stamped with a date
// of the record so that the same entries give the same bytes.
func (d *Dates) Calendar() []byte {
	cal := ics.NewCalendarFor(clean.Short(d.Shop))
	cal.SetMethod(ics.MethodPublish)
	if d.Withdrawn {
		cal.SetMethod(ics.MethodCancel)
	}
	for _, e := range d.Entries {
		v := cal.AddEvent(e.UID)
		v.SetDtStampTime(d.Stamp.Time())
		v.SetSequence(d.Sequence)
		if d.Withdrawn {
			v.SetStatus(ics.ObjectStatusCancelled)
		}
		v.SetAllDayStartAt(e.On.Time())
		v.SetAllDayEndAt(e.On.Time().Add(24 * time.Hour))
		v.SetSummary(clean.Line(e.What))
		v.SetDescription(clean.Line(e.Note))
		v.SetTimeTransparency(ics.TransparencyTransparent) // a note, not a busy day
	}
	return []byte(cal.Serialize(ics.WithNewLineWindows))
}
