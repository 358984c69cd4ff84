package daemon_test

import (
	"bytes"
	"compress/zlib"
	"context"
	"encoding/binary"
	"fmt"
	"hash/crc32"
	"log/slog"
	"os"
	"os/signal"
	"path/filepath"
	"strings"
	"sync/atomic"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/daemon"
	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/programme/roster"
	"github.com/kitmuster/kitmuster/programme/setup"
	"github.com/kitmuster/kitmuster/programme/table/tabletest"
)

const (
	// mostMemory is what the printed unit allows the daemon (MemoryMax).
	mostMemory = 2 << 30
	// mostOfAFile is what one file may make the program use, and what it uses anyway.
	mostOfAFile = 700<<20 + 100<<20
)

// childDaemon is a daemon whose clock goes on by a third of a minute whenever
// it is looked at, so that no job sleeps until its next minute comes.
func childDaemon(home string) error {
	ctx, stop := signal.NotifyContext(context.Background(), syscall.SIGTERM)
	defer stop()
	var looks atomic.Int64
	clock := func() time.Time { return asOf.Time().Add(12*time.Hour + time.Duration(looks.Add(1))*20*time.Second) }
	d, err := daemon.New(ctx, daemon.Options{Home: home, Log: slog.New(slog.NewTextHandler(os.Stderr, nil)),
		Now: clock})
	if err != nil {
		return err
	}
	return joined(d.Run(ctx), d.Close())
}

// The daemon under the memory that its unit allows, with everything in its
// folders at once that would take gigabytes: it lives, refuses each file with
// its sentence, takes the good one beside them and makes its round.
func TestFilesThatTakeGigabytesDoNotEndTheDaemon(t *testing.T) {
	t.Parallel()
	home := folder(t, "schedule: {round: \"* * * * *\", drop: \"* * * * *\"}\ndrop: {settle: 1s}\n", 1)
	client := &world().Cases[0]
	drop := filepath.Join(home, "drop")
	require.NoError(t, os.MkdirAll(drop, 0o700))
	hostile := tabletest.HostileFiles(t)
	put := func(name string, data []byte) {
		require.NoError(t, os.WriteFile(filepath.Join(drop, "roster--"+client.Client.Code+"--"+name), data, 0o600))
	}
	for _, f := range hostile {
		put(f.Name, f.Data)
	}
	var good bytes.Buffer
	require.NoError(t, roster.Write(&good, client.Roster))
	put("good.csv", good.Bytes())
	hostilePictures(t, home)

	c := child(t, "daemon", home)
	var says bytes.Buffer
	c.Stderr = &says
	require.NoError(t, c.Start())
	ended := make(chan error, 1)
	go func() { ended <- c.Wait() }()
	most, all := 0, false
	for begin := time.Now(); !all; time.Sleep(20 * time.Millisecond) {
		now, peak := memoryOf(c.Process.Pid)
		most = max(most, peak)
		select {
		case err := <-ended:
			t.Fatalf("the daemon ended: %v\n%s", err, says.String())
		default:
		}
		if now > memoryFactor*mostMemory || time.Since(begin) > 3*time.Minute {
			require.NoError(t, c.Process.Kill())
			t.Fatalf("killed at %d MB after %s\n%s", now>>20, time.Since(begin), says.String())
		}
		all = reports(t, home, "refused") == len(hostile) && reports(t, home, "done") == 1 && roundsOf(t, home) == 1
	}
	require.NoError(t, c.Process.Signal(syscall.SIGTERM))
	require.NoError(t, <-ended, says.String())
	t.Logf("at most %d MB", most>>20)
	require.Less(t, most, memoryFactor*mostOfAFile)
	for _, f := range hostile {
		found, err := filepath.Glob(filepath.Join(drop, "refused", "*"+f.Name+".report.txt"))
		require.NoError(t, err)
		require.Len(t, found, 1, f.Name)
		report, err := os.ReadFile(found[0])
		require.NoError(t, err)
		require.Contains(t, string(report), f.Want)
	}
}

// hostilePictures gives every artwork of a shop a picture of a megabyte that
// unpacks to more than one of gigabytes.
func hostilePictures(t *testing.T, home string) {
	t.Helper()
	shop := world().Shop
	shop.Artworks = append(shop.Artworks[:0:0], shop.Artworks...)
	for i := range shop.Artworks {
		shop.Artworks[i].File = "hostile.png"
	}
	require.NoError(t, os.WriteFile(filepath.Join(home, books.ShopFile), setup.WriteShop(&shop), 0o600))
	var packed bytes.Buffer
	z := zlib.NewWriter(&packed)
	line := make([]byte, 1+8*7_000)
	for range 7_000 {
		_, err := z.Write(line)
		require.NoError(t, err)
	}
	require.NoError(t, z.Close())
	picture := []byte("\x89PNG\r\n\x1a\n")
	chunk := func(kind string, data []byte) {
		tail := append([]byte(kind), data...)
		picture = append(binary.BigEndian.AppendUint32(picture, uint32(len(data))), tail...)
		picture = binary.BigEndian.AppendUint32(picture, crc32.ChecksumIEEE(tail))
	}
	chunk("IHDR", append(binary.BigEndian.AppendUint32(binary.BigEndian.AppendUint32(nil, 12_900), 12_000), 16,
		6, 0, 0, 0))
	chunk("IDAT", packed.Bytes())
	chunk("IEND", nil)
	require.NoError(t, os.WriteFile(filepath.Join(home, "hostile.png"), picture, 0o600))
}

// memoryOf returns what a process has in memory now and had at most, in bytes.
func memoryOf(pid int) (now, peak int) {
	text, err := os.ReadFile(fmt.Sprintf("/proc/%d/status", pid))
	if err != nil {
		return 0, 0
	}
	for line := range strings.Lines(string(text)) {
		name, rest, _ := strings.Cut(line, ":")
		var kilobytes int
		_, _ = fmt.Sscan(rest, &kilobytes)
		switch name {
		case "VmRSS":
			now = kilobytes << 10
		case "VmHWM":
			peak = kilobytes << 10
		}
	}
	return now, peak
}

func reports(t *testing.T, home, dir string) int {
	t.Helper()
	found, err := filepath.Glob(filepath.Join(home, "drop", dir, "*.report.txt"))
	require.NoError(t, err)
	return len(found)
}

// roundsOf counts the rounds on record.
func roundsOf(t *testing.T, home string) int {
	t.Helper()
	for _, j := range status(t, home).Jobs {
		if j.Name == daemon.JobRound && j.State == "done" {
			return 1
		}
	}
	return 0
}
