package main

import (
	"bytes"
	"context"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/setup"
	"github.com/kitmuster/kitmuster/programme/simulate"
)

// say runs one command line in a shop's folder and returns what it wrote.
func say(t *testing.T, home string, args ...string) (status int, out, complaint string) {
	t.Helper()
	var stdout, stderr bytes.Buffer
	status = run(context.Background(), append([]string{"--home", home}, args...), strings.NewReader(""),
		&stdout, &stderr)
	return status, stdout.String(), stderr.String()
}

// newShop is a folder with a shop.yaml and an empty database.
func newShop(t *testing.T, config string) string {
	t.Helper()
	w := simulate.NewWorld(programme.NewDate(2026, 3, 2), simulate.Seed(1))
	text := setup.WriteShop(&w.Shop)
	home := t.TempDir()
	require.NoError(t, os.WriteFile(filepath.Join(home, "shop.yaml"), text, 0o600))
	if config != "" {
		require.NoError(t, os.WriteFile(filepath.Join(home, "config.yaml"), []byte(config), 0o600))
	}
	b, err := books.Create(t.Context(), home)
	require.NoError(t, err)
	require.NoError(t, b.Close())
	return home
}

func TestLookingAfterTheDaemon(t *testing.T) {
	home := newShop(t, "")
	status, out, complaint := say(t, home, "check")
	require.Zero(t, status, complaint)
	require.Contains(t, out, "All is well.")
	require.Contains(t, out, "The service ('kitmuster run') would do next:")

	status, out, complaint = say(t, home, "status", "--json")
	require.Zero(t, status, complaint)
	var st map[string]any
	require.NoError(t, json.Unmarshal([]byte(out), &st))
	require.EqualValues(t, 1, st["format"])
	for _, key := range []string{"jobs", "outbox", "drop_folder", "backup", "database", "worries"} {
		require.Contains(t, st, key)
	}

	status, out, _ = say(t, home, "backup")
	require.Zero(t, status)
	require.Contains(t, out, "and checked")
	copies, err := filepath.Glob(filepath.Join(home, "backup", "*.db"))
	require.NoError(t, err)
	require.Len(t, copies, 1)
	status, _, complaint = say(t, home, "restore", copies[0])
	require.Equal(t, exitWork, status)
	require.Contains(t, complaint, "--yes")
	status, out, _ = say(t, home, "restore", copies[0], "--yes")
	require.Zero(t, status)
	require.Contains(t, out, "kept as")
	status, _, complaint = say(t, home, "restore", filepath.Join(home, "shop.yaml"), "--yes")
	require.Equal(t, exitWork, status)
	require.Contains(t, complaint, "nothing was changed")

	status, out, _ = say(t, home, "mail", "list")
	require.Zero(t, status)
	require.Contains(t, out, "No mail waits")
	status, _, complaint = say(t, home, "mail", "preview", "7")
	require.Equal(t, exitWork, status)
	require.Contains(t, complaint, "there is no mail 7")
	status, _, _ = say(t, home, "mail", "preview", "seven")
	require.Equal(t, exitUsage, status)
}

func TestCheckListsEveryFaultAndKeepsSecrets(t *testing.T) {
	home := newShop(t, "mail:\n  server: mail.example.com\n  user: shop\n  password_file: secret\n")
	require.NoError(t, os.WriteFile(filepath.Join(home, "secret"), []byte("s3cret-value\n"), 0o644))
	require.NoError(t, os.Chmod(filepath.Join(home, "secret"), 0o644))
	status, out, complaint := say(t, home, "check")
	require.Equal(t, exitWork, status)
	require.Contains(t, out, "chmod 600")
	require.NotContains(t, out+complaint, "s3cret-value")

	home = newShop(t, "mail: {folder: outgoing}\n")
	require.NoError(t, os.Mkdir(filepath.Join(home, "outgoing"), 0o755))
	require.NoError(t, os.Chmod(filepath.Join(home, "outgoing"), 0o755)) // whatever the mask of this process
	status, out, _ = say(t, home, "check")
	require.Equal(t, exitWork, status)
	require.Contains(t, out, "others may read outgoing")

	home = newShop(t, "mail:\n  sever: x\nlog:\n  level: loud\n")
	status, out, _ = say(t, home, "check")
	require.Equal(t, exitWork, status)
	require.Contains(t, out, "config.yaml line 2, mail: unknown key sever; did you mean server?")
}

func TestServiceUnit(t *testing.T) {
	status, out, _ := say(t, "/srv/my shop 100%", "service", "print", "--user", "shop")
	require.Zero(t, status)
	for _, line := range []string{"User=shop", `ReadWritePaths="/srv/my shop 100%%"`, "NoNewPrivileges=yes",
		"ProtectSystem=strict", "UMask=0077", "WantedBy=multi-user.target"} {
		require.Contains(t, out, line)
	}
	require.NotContains(t, out, "{")
}
