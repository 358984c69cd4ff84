package memory

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

// The limit leaves room above what is in use, whatever that is, so that collecting
// garbage never becomes most of the work, and memory stays in proportion.
func TestTheLimitFollowsWhatIsInUse(t *testing.T) {
	assert.EqualValues(t, leastRoom, limitFor(0, leastRoom))
	assert.EqualValues(t, leastRoom, limitFor(200<<20, leastRoom))
	for live := int64(300 << 20); live < 8<<30; live += 77 << 20 {
		limit := limitFor(live, leastRoom)
		assert.Greater(t, limit, live+live/4+(64<<20))
		assert.LessOrEqual(t, limit, live+live/4+(96<<20))
	}
}

func TestARoomyMachineCollectsSeldomer(t *testing.T) {
	for total, room := range map[uint64]int64{0: 448 << 20, 1 << 30: 448 << 20, 3 << 30: 768 << 20, 64 << 30: 850 << 20} {
		assert.Equal(t, room, roomIn(total))
		assert.Equal(t, room, limitFor(0, room))
	}
	assert.GreaterOrEqual(t, roomIn(total()), int64(leastRoom), "whatever this machine says")
}
