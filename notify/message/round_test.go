package message_test

import (
	"os"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/notify/message"
	"github.com/kitmuster/kitmuster/programme/goldentest"
)

func TestOwnersMailTellsTheWholeRound(t *testing.T) {
	m, err := message.ComposeRound(aRound())
	require.NoError(t, err)
	goldentest.Equal(t, "round.txt", []byte(m.Text))
	goldentest.Equal(t, "round.html", []byte(m.HTML))
	if d := os.Getenv("KITMUSTER_LOOK"); d != "" {
		require.NoError(t, os.WriteFile(d+"/round.html", []byte(m.Preview()), 0o600))
	}
}
