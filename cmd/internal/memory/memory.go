// Package memory sets how the programs of this house collect garbage, so that
// what the laboratory measures is what a shop runs.
package memory

import (
	"os"
	"runtime"
	"runtime/debug"
	"runtime/metrics"
)

// room is up to how much memory garbage may pile up, in bytes, where little is in use: with it a round over 1,088,448
// pieces stays below 500 MiB. With nearly twice as much the same round took 883 MiB and 7 % less of the processors'
// time.
const room = 448 << 20

// CollectSeldom trades memory for time: a round makes much garbage and keeps
// little, so memory is collected less often than usual as long as it is small.
// What GOGC and GOMEMLIMIT say goes first.
func CollectSeldom() {
	if os.Getenv("GOGC") == "" && os.Getenv("GOMEMLIMIT") == "" {
		debug.SetGCPercent(400)
		debug.SetMemoryLimit(room)
		follow(room)
	}
}

// follow sets the limit anew after every collection. One that stood still would make
// a shop whose records alone come near to it collect without end: at a million
// pieces half of a round's time went that way.
func follow(limit int64) {
	runtime.AddCleanup(new([16]byte), func(before int64) {
		now := limitFor(inUse())
		if now != before {
			debug.SetMemoryLimit(now)
		}
		follow(now)
	}, limit)
}

// limitFor returns the limit where so many bytes are in use: garbage may fill the room, or a quarter
// as much as is in use, in steps, so that the limit is not set after every collection.
func limitFor(live int64) int64 {
	const step = 32 << 20
	return max(room, (live+live/4)/step*step+3*step)
}

// inUse returns the bytes that the last collection left.
func inUse() int64 {
	s := []metrics.Sample{{Name: "/gc/heap/live:bytes"}}
	metrics.Read(s)
	return int64(s[0].Value.Uint64())
}
