// Package memory sets how the programs of this house collect garbage, so that
// what the laboratory measures is what a shop runs.
package memory

import (
	"os"
	"runtime/debug"
)

// roomy is up to how much memory garbage may pile up, in bytes.
const roomy = 420 << 20

// CollectSeldom trades memory for time: a round makes much garbage and keeps
// little, so memory is collected less often than usual as long as it is small.
// What GOGC and GOMEMLIMIT say goes first.
func CollectSeldom() {
	if os.Getenv("GOGC") == "" && os.Getenv("GOMEMLIMIT") == "" {
		debug.SetGCPercent(400)
		debug.SetMemoryLimit(roomy)
	}
}
