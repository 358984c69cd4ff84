package logkey_test

import (
	"bytes"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/daemon/logkey"
)

func TestAddressesStayOutOfTheDiary(t *testing.T) {
	for _, format := range []string{"text", "json", "auto"} {
		var log bytes.Buffer
		logkey.New(&log, format, "info").With(logkey.Client, "bakery").Warn("the transport is closed",
			logkey.Error, "the mail server localhost answered 421 <anna@example.com>: too busy for shop+x@mail.example.org, try later", logkey.Next, 7)
		require.NotContains(t, log.String(), "@")
		require.NotContains(t, log.String(), "anna")
		require.Contains(t, log.String(), "answered 421")
		require.Contains(t, log.String(), "try later")
	}
}
