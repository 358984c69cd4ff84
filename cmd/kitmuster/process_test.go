package main

import (
	"context"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"golang.org/x/sync/errgroup"

	"github.com/kitmuster/kitmuster/daemon"
	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/lock"
	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/notify/outbox"
	"github.com/kitmuster/kitmuster/notify/smtp/smtptest"
)

// asProgram is the variable that makes this test binary the program itself.
const asProgram = "KITMUSTER_TEST_AS_PROGRAM"

func TestMain(m *testing.M) {
	if os.Getenv(asProgram) == "1" {
		main()
	}
	status := m.Run()
	if demoFolder != "" {
		_ = os.RemoveAll(demoFolder)
	}
	os.Exit(status)
}

// program is a command line of the program in a process of its own.
func program(home string, args ...string) *exec.Cmd {
	c := exec.Command(os.Args[0], append([]string{"--home", home}, args...)...)
	c.Env = append(os.Environ(), asProgram+"=1")
	return c
}

// postTwo puts two mails into the outbox and makes their delivery overdue.
func postTwo(t *testing.T, home string) {
	t.Helper()
	s, err := store.Open(t.Context(), filepath.Join(home, books.DatabaseFile), store.Options{})
	require.NoError(t, err)
	require.NoError(t, s.InTx(t.Context(), func(tx *store.Tx) error {
		for _, name := range []string{"first", "second"} {
			_, err := tx.Enqueue(outbox.Letter{MessageID: name + "@shop.example", Kind: "round", Subject: name,
				From:  "owner@shop.example",
				To:    []string{name + "@client.example"},
				Bytes: []byte("Message-ID: <" + name + "@shop.example>\r\nSubject: " + name + "\r\n\r\nHello.\r\n")})
			if err != nil {
				return err
			}
		}
		return tx.PassSlot(store.Slot{Job: daemon.JobOutbox, Key: "start", Due: time.Now().Add(-24 * time.Hour)})
	}))
	require.NoError(t, s.Close())
}

// states tells how the two mails stand.
func states(t *testing.T, home string) map[string]outbox.State {
	t.Helper()
	s, err := store.Open(context.Background(), filepath.Join(home, books.DatabaseFile), store.Options{})
	require.NoError(t, err)
	list, err := s.Postings(context.Background(), false, 10)
	require.NoError(t, err)
	require.NoError(t, s.Close())
	all := map[string]outbox.State{}
	for i := range list {
		all[list[i].Subject] = list[i].State
	}
	return all
}

// The service manager says stop while a message is being handed over: that one
// is finished, the next is left for later, and a second process that comes
// meanwhile is told who is at work.
func TestRunIsStoppedWithAMessageInHand(t *testing.T) {
	server := smtptest.Start(t, "none")
	begun, release := server.HoldData()
	t.Cleanup(release)
	home := newShop(t, fmt.Sprintf("mail: {server: localhost, port: %d, security: none}\n", server.Port))
	postTwo(t, home)

	c := program(home, "run")
	var log strings.Builder
	c.Stderr = &log
	require.NoError(t, c.Start())
	ended := make(chan error, 1)
	go func() { ended <- c.Wait() }()
	t.Cleanup(func() { _ = c.Process.Kill() })
	select {
	case <-begun:
	case err := <-ended:
		require.NoError(t, err, log.String())
		require.Fail(t, "it ended by itself", log.String())
	case <-time.After(30 * time.Second):
		require.Fail(t, "no message came")
	}

	second := program(home, "run")
	out, err := second.CombinedOutput()
	require.Error(t, err)
	require.Equal(t, exitWork, second.ProcessState.ExitCode(), string(out))
	require.Contains(t, string(out),
		fmt.Sprintf("another kitmuster is at work on this folder: kitmuster run, process %d on ", c.Process.Pid))

	told := time.Now()
	require.NoError(t, c.Process.Signal(syscall.SIGTERM))
	time.Sleep(200 * time.Millisecond) // the server is slow; the daemon knows already that it is to stop
	release()
	select {
	case err = <-ended:
	case <-time.After(10 * time.Second):
		require.Fail(t, "it did not stop within 10 s")
	}
	require.NoError(t, err, log.String())
	require.Less(t, time.Since(told), 10*time.Second)
	require.Contains(t, log.String(), "service stopped")
	require.Len(t, server.Received(), 1, log.String())
	require.Equal(t, map[string]outbox.State{"first": outbox.Accepted, "second": outbox.Waiting}, states(t, home))
}

// Twenty hands at once, a service beside them, and the service manager says stop
// in the middle: nobody is told that the database is locked, no backup fails, and
// the service is gone within the ten seconds that it has.
func TestTwentyHandsBesideTheService(t *testing.T) {
	home := bakeryHome(t)
	service := program(home, "run")
	require.NoError(t, service.Start())
	ended := make(chan error, 1)
	go func() { ended <- service.Wait() }()
	t.Cleanup(func() { _ = service.Process.Kill() })
	require.Eventually(t, func() bool {
		who, _ := lock.Holder(filepath.Join(home, lock.FileName))
		return who != ""
	}, 20*time.Second, 20*time.Millisecond)
	var hands errgroup.Group
	for i := range 20 {
		hands.Go(func() error {
			for round := range 3 {
				lines := [][]string{{"hire", "harbour", fmt.Sprintf("Starter %d-%d", i, round), "--role", "baker"},
					{"backup"}, {"status"}, {"roster", "list", "harbour"}}
				line := lines[(i+round)%len(lines)]
				if out, err := program(home, line...).CombinedOutput(); err != nil {
					return fmt.Errorf("%v: %w: %s", line, err, out)
				}
			}
			return nil
		})
	}
	time.Sleep(2 * time.Second)
	told := time.Now()
	require.NoError(t, service.Process.Signal(syscall.SIGTERM))
	select {
	case err := <-ended:
		require.NoError(t, err)
	case <-time.After(10 * time.Second):
		require.Fail(t, "it did not stop within 10 s")
	}
	require.Less(t, time.Since(told), 10*time.Second)
	require.NoError(t, hands.Wait())
}
