package memory

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

// The limit leaves room above what is in use, whatever that is, so that collecting
// garbage never becomes most of the work, and memory stays in proportion.
func TestTheLimitFollowsWhatIsInUse(t *testing.T) {
	assert.EqualValues(t, room, limitFor(0))
	assert.EqualValues(t, room, limitFor(200<<20))
	for live := int64(300 << 20); live < 8<<30; live += 77 << 20 {
		limit := limitFor(live)
		assert.Greater(t, limit, live+live/4+(64<<20))
		assert.LessOrEqual(t, limit, live+live/4+(96<<20))
	}
}
