package diary_test

import (
	"bytes"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/daemon/diary"
)

func TestAddressesStayOutOfTheDiary(t *testing.T) {
	for _, format := range []string{"text", "json", "auto"} {
		var log bytes.Buffer
		diary.New(&log, format, "info").With(diary.Client, "bakery").Warn("the way out is closed",
			diary.Error, "the mail server localhost answered 421 <anna@example.com>: too busy for shop+x@mail.example.org, try later", diary.Next, 7)
		require.NotContains(t, log.String(), "@")
		require.NotContains(t, log.String(), "anna")
		require.Contains(t, log.String(), "answered 421")
		require.Contains(t, log.String(), "try later")
	}
}
