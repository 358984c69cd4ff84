package message_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/notify/message"
)

// A round over a thousand clients writes a few hundred of these.
func BenchmarkComposeReorder(b *testing.B) {
	r := aReorder()
	for b.Loop() {
		m, err := message.ComposeReorder(r)
		require.NoError(b, err)
		_, err = m.Bytes(envelope)
		require.NoError(b, err)
	}
}

func BenchmarkComposeRoundOf40(b *testing.B) {
	r := bigRound(40)
	for b.Loop() {
		m, err := message.ComposeRound(r)
		require.NoError(b, err)
		b.ReportMetric(float64(len(m.HTML)), "html-bytes")
	}
}

func BenchmarkComposeJob(b *testing.B) {
	j := aJob()
	for b.Loop() {
		_, err := message.ComposeJob(j)
		require.NoError(b, err)
	}
}
