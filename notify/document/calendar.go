package document

import (
	"time"

	ics "github.com/arran4/golang-ical"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/clean"
)

// Entry is one whole day in a calendar.
type Entry struct {
	UID  string // stable, so that a second file changes the entry and adds none
	On   programme.Date
	What string
	Note string
}

// Calendar writes entries as an iCalendar file (RFC 5545), stamped with a date
// of the record so that the same entries give the same bytes.
func Calendar(shop string, stamp programme.Date, entries []Entry) []byte {
	cal := ics.NewCalendarFor(clean.Short(shop))
	cal.SetMethod(ics.MethodPublish)
	for _, e := range entries {
		v := cal.AddEvent(e.UID)
		v.SetDtStampTime(stamp.Time())
		v.SetAllDayStartAt(e.On.Time())
		v.SetAllDayEndAt(e.On.Time().Add(24 * time.Hour))
		v.SetSummary(clean.Line(e.What))
		v.SetDescription(clean.Line(e.Note))
		v.SetTimeTransparency(ics.TransparencyTransparent) // a note, not a busy day
	}
	return []byte(cal.Serialize(ics.WithNewLineWindows))
}
