package daemon

import (
	"log/slog"
	"net"
	"net/http"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/daemon/config"
	"github.com/kitmuster/kitmuster/daemon/store"
)

// When the settings change, the page goes where they say; an address that
// somebody else has is told and stops nothing.
func TestThePageFollowsItsAddress(t *testing.T) {
	s, err := store.Open(t.Context(), filepath.Join(t.TempDir(), "shop.db"), store.Options{})
	require.NoError(t, err)
	d := &Daemon{opt: Options{Log: slog.New(slog.DiscardHandler), Now: time.Now, Home: t.TempDir()}, store: s}
	listen := func(address string) {
		d.setup.Store(&setup{config: &config.Config{HTTP: config.HTTP{Listen: address}}})
	}
	taken, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	free, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	require.NoError(t, free.Close())

	listen("")
	p, err := d.serve(t.Context(), d.allServed()[0])
	require.NoError(t, err)
	listen(taken.Addr().String())
	p = d.follow(t.Context(), p)
	events, err := s.UntoldEvents(t.Context())
	require.NoError(t, err)
	require.Len(t, events, 1)
	require.Contains(t, events[0].What, "no page for monitoring")

	listen(free.Addr().String())
	p = d.follow(t.Context(), p)
	require.Same(t, p.server, d.follow(t.Context(), p).server, "it stays")
	resp, err := http.Get("http://" + free.Addr().String() + "/nothing")
	require.NoError(t, err)
	require.NoError(t, resp.Body.Close())
	require.Equal(t, http.StatusNotFound, resp.StatusCode)

	listen("")
	p = d.follow(t.Context(), p)
	_, err = net.Dial("tcp", free.Addr().String())
	require.Error(t, err, "it is closed")
	p.close(t.Context())
	require.NoError(t, taken.Close())
	require.NoError(t, s.Close())
}
