package main

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"
)

func newServiceCommand(a *app) *cobra.Command {
	c := group("service", "Let kitmuster run in the background whenever the machine is on",
		"  kitmuster service print --home /srv/shop --user kitmuster")
	c.AddCommand(newServicePrintCommand(a))
	return c
}

func newServicePrintCommand(a *app) *cobra.Command {
	user := "kitmuster"
	c := &cobra.Command{
		Use:   "print",
		Short: "Print a unit for systemd that runs kitmuster with as few rights as it needs",
		Long: `Prints a unit file for systemd. It may write to the shop's folder and to nothing else.
It changes nothing itself; the first lines of the unit say where to put it and how to
start it. A backup folder outside the shop's folder needs a line of its own there.`,
		Example: "  kitmuster service print --home /srv/shop | sudo tee /etc/systemd/system/kitmuster.service",
		RunE: func(*cobra.Command, []string) error {
			home, err := filepath.Abs(a.home)
			if err != nil {
				return err
			}
			program, err := os.Executable()
			if err != nil {
				return err
			}
			if strings.ContainsAny(home+program+user, "\n\r") {
				return usagef("a path with a line break cannot stand in a unit file")
			}
			_, err = fmt.Fprint(unfolded(a.out), unit(program, home, user))
			return err
		},
	}
	c.Flags().StringVar(&user, "user", user, "account that kitmuster runs under; make it first, without a login")
	return c
}

// unit returns the unit file. Its settings are those of systemd.exec(5) and
// systemd.service(5); 'systemd-analyze security kitmuster' rates them.
func unit(program, home, user string) string {
	return strings.NewReplacer("{program}", quoteUnit(program), "{home}", quoteUnit(home), "{user}", quoteUnit(user)).Replace(`# Put this into /etc/systemd/system/kitmuster.service, then:
#   sudo useradd --system --home-dir {home} --shell /usr/sbin/nologin {user}
#   sudo chown -R {user}: {home}
#   sudo systemctl daemon-reload
#   sudo systemctl enable --now kitmuster
# Its log: journalctl -u kitmuster -f
# A password in the environment: put KITMUSTER_SMTP_PASSWORD=... into a file that only
# root may read and add the line EnvironmentFile=/etc/kitmuster.env below.
[Unit]
Description=kitmuster: uniform programmes, forecasts and reorders
After=network-online.target time-sync.target
Wants=network-online.target

[Service]
Type=simple
User={user}
ExecStart={program} run --home {home}
WorkingDirectory={home}
Restart=on-failure
RestartSec=30s
TimeoutStopSec=15s
KillSignal=SIGTERM
UMask=0077

# It needs its own folder and a way to the mail server; nothing else.
ReadWritePaths={home}
ProtectSystem=strict
ProtectHome=tmpfs
BindPaths={home}
BindReadOnlyPaths={program}
PrivateTmp=yes
PrivateDevices=yes
ProtectProc=invisible
ProcSubset=pid
ProtectKernelTunables=yes
ProtectKernelModules=yes
ProtectKernelLogs=yes
ProtectControlGroups=yes
ProtectClock=yes
ProtectHostname=yes
NoNewPrivileges=yes
CapabilityBoundingSet=
AmbientCapabilities=
RestrictAddressFamilies=AF_INET AF_INET6 AF_UNIX
RestrictNamespaces=yes
RestrictRealtime=yes
RestrictSUIDSGID=yes
LockPersonality=yes
MemoryDenyWriteExecute=yes
RemoveIPC=yes
SystemCallArchitectures=native
SystemCallFilter=@system-service
SystemCallFilter=~@privileged @resources
MemoryMax=2G
TasksMax=200

[Install]
WantedBy=multi-user.target
`)
}

// quoteUnit writes a word as unit files want it: % doubled, and in quotes
// where it holds spaces (systemd.syntax(7)).
func quoteUnit(s string) string {
	s = strings.ReplaceAll(s, "%", "%%")
	if strings.ContainsAny(s, " \t\"'\\;") {
		s = `"` + strings.NewReplacer(`\`, `\\`, `"`, `\"`).Replace(s) + `"`
	}
	return s
}
