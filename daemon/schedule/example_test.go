package schedule_test

import (
	"fmt"
	"time"

	"github.com/kitmuster/kitmuster/daemon/schedule"
)

// Mondays at half past six on the shop's wall, whatever the clocks do in spring.
func ExampleSchedule_Next() {
	zone, err := schedule.Zone("America/Toronto")
	if err != nil {
		fmt.Println(err)
		return
	}
	mondays, err := schedule.Parse("30 6 * * 1", zone)
	if err != nil {
		fmt.Println(err)
		return
	}
	at := time.Date(2026, 3, 1, 12, 0, 0, 0, time.UTC)
	for range 3 {
		slot := mondays.Next(at)
		fmt.Println(slot.Key, slot.At.Format("15:04 MST"))
		at = slot.At
	}
	// Output:
	// 2026-03-02T06:30 11:30 UTC
	// 2026-03-09T06:30 10:30 UTC
	// 2026-03-16T06:30 10:30 UTC
}
