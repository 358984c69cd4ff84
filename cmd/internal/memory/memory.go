// Package memory sets how the programs of this house collect garbage, so that
// what the laboratory measures is what a shop runs.
package memory

import (
	"errors"
	"os"
	"runtime"
	"runtime/debug"
	"runtime/metrics"

	"github.com/KimMachineGun/automemlimit/memlimit"
)

// Up to how much memory garbage may pile up, in bytes, where little is in use: a quarter of what the
// machine has, or the container or service is allowed, between these. A round over 1,088,448 pieces took
// 61.9 processor seconds and 494 MiB with the least, and 57.4 and 883 MiB with the most.
const (
	leastRoom = 448 << 20
	mostRoom  = 850 << 20
)

// roomIn returns up to how much memory garbage may pile up where there are so many bytes in
// all; 0 = unknown.
func roomIn(total uint64) int64 { return int64(min(max(total/4, leastRoom), mostRoom)) }

// total returns the bytes that the machine has, or that the process may use where
// that is less; 0 = unknown.
func total() uint64 {
	machine, err := memlimit.FromSystem()
	if err != nil {
		return 0
	}
	switch allowed, err := memlimit.FromCgroup(); {
	case err == nil:
		return min(machine, allowed)
	case errors.Is(err, memlimit.ErrNoLimit), errors.Is(err, memlimit.ErrNoCgroup), errors.Is(err, memlimit.ErrCgroupsNotSupported):
		return machine
	default:
		return 0 // there may be a limit, and it cannot be read
	}
}

// CollectSeldom trades memory for time: a round makes much garbage and keeps
// little, so memory is collected less often than usual as long as it is small.
// What GOGC and GOMEMLIMIT say goes first.
func CollectSeldom() {
	if os.Getenv("GOGC") == "" && os.Getenv("GOMEMLIMIT") == "" {
		room := roomIn(total())
		debug.SetGCPercent(400)
		debug.SetMemoryLimit(room)
		follow(room, room)
	}
}

// follow sets the limit anew after every collection. One that stood still would make
// a shop whose records alone come near to it collect without end: at a million
// pieces half of a round's time went that way.
func follow(room, limit int64) {
	runtime.AddCleanup(new([16]byte), func(before int64) {
		now := limitFor(inUse(), room)
		if now != before {
			debug.SetMemoryLimit(now)
		}
		follow(room, now)
	}, limit)
}

// limitFor returns the limit where so many bytes are in use: garbage may fill the room, or a quarter
// as much as is in use, in steps, so that the limit is not set after every collection.
func limitFor(live, room int64) int64 {
	const step = 32 << 20
	return max(room, (live+live/4)/step*step+3*step)
}

// inUse returns the bytes that the last collection left.
func inUse() int64 {
	s := []metrics.Sample{{Name: "/gc/heap/live:bytes"}}
	metrics.Read(s)
	return int64(s[0].Value.Uint64())
}
