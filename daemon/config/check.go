package config

import (
	"errors"
	"fmt"
	"io/fs"
	"net"
	"net/url"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"github.com/kitmuster/kitmuster/daemon/schedule"
	"github.com/kitmuster/kitmuster/notify/message"
	"github.com/kitmuster/kitmuster/notify/smtp"
	"github.com/kitmuster/kitmuster/notify/wholefile"
)

// check reviews values that are readable but may make no sense.
func (r *reader) check(c *Config, zone *time.Location) {
	for key, text := range map[string]string{
		"schedule.round": c.Schedule.Round, "schedule.outbox": c.Schedule.Outbox, "schedule.drop": c.Schedule.Drop,
		"schedule.replies": c.Schedule.Replies, "schedule.backup": c.Schedule.Backup,
		"schedule.self_check": c.Schedule.SelfCheck,
	} {
		r.schedule(key, text, zone)
	}
	seen := map[string]bool{}
	for i, cr := range c.Schedule.Clients {
		key := fmt.Sprintf("schedule.clients[%d]", i+1)
		if cr.Client == "" {
			r.bad(key, "the client's code is missing")
		}
		if seen[cr.Client] {
			r.bad(key, "client %s stands here twice", cr.Client)
		}
		seen[cr.Client] = true
		r.schedule(key, cr.Round, zone)
	}
	r.checkMail(&c.Mail)
	r.oneOf("replies.marked_address", c.Replies.MarkedAddress, "yes", "no")
	r.oneOf("replies.signatures", c.Replies.Signatures, "yes", "no")
	if a := c.Replies.Address; a != "" {
		if err := message.CheckAddress(a); err != nil {
			r.bad("replies.address", "read %q: %v", a, err)
		}
	}
	r.checkIMAP(&c.Replies.IMAP)
	if c.Replies.IMAP.Server != "" && c.Replies.Address == "" {
		r.bad("replies.address", "a mailbox is read, but no address is named that customers answer to")
	}
	r.oneOf("log.format", c.Log.Format, "auto", "text", "json")
	r.oneOf("log.level", c.Log.Level, "debug", "info", "warn", "error")
	if c.Backup.Daily < 1 {
		r.bad("backup.daily", "keep one copy at least")
	}
	if c.HTTP.Listen != "" && !loopback(c.HTTP.Listen) {
		r.bad("http.listen", "read %q; the page is for this machine alone: write 127.0.0.1:9187 or [::1]:9187",
			c.HTTP.Listen)
	}
	r.checkDesk(&c.Desk)
	if c.Desk.Listen != "" && c.Desk.Listen == c.HTTP.Listen {
		r.bad("desk.listen", "read %q, where the page for monitoring is; give each an address of its own",
			c.Desk.Listen)
	}
}

func (r *reader) checkDesk(d *Desk) {
	if d.Listen != "" && !loopback(d.Listen) {
		r.bad("desk.listen", "read %q; the desk is for this machine alone: write 127.0.0.1:9188 or [::1]:9188. For others, let a proxy on this machine serve it with TLS and name it in address", d.Listen)
	}
	if d.Address == "" {
		return
	}
	u, err := url.Parse(d.Address)
	if err != nil || u.Scheme != "https" || u.Host == "" || strings.Trim(u.Path, "/") != "" || u.RawQuery != "" ||
		u.User != nil {
		r.bad("desk.address", "read %q; write the https address under which the proxy serves it, such as https://desk.shop.example", d.Address)
	}
	if d.Listen == "" {
		r.bad("desk.address", "there is no desk to serve: name its address on this machine in listen")
	}
}

func (r *reader) schedule(key, text string, zone *time.Location) {
	if _, err := schedule.Parse(text, zone); err != nil {
		r.bad(key, "%v", err)
	}
}

func (r *reader) oneOf(key, value string, words ...string) {
	if slices.Contains(words, value) {
		return
	}
	r.bad(key, "read %q; write one of %s", value, strings.Join(words, ", "))
}

// checkServer reviews how a mail server is reached, by the section that says so.
func (r *reader) checkServer(section, server, security string, port int) {
	r.oneOf(section+".security", security, string(smtp.StartTLS), string(smtp.TLS), string(smtp.Plain))
	if port < 1 || port > 65535 {
		r.bad(section+".port", "read %d; ports go from 1 to 65535", port)
	}
	if server != "" && strings.ContainsAny(server, " /:@") {
		r.bad(section+".server", "read %q; write the host name alone, such as mail.example.com", server)
	}
	if security == string(smtp.Plain) && server != "" && !loopback(net.JoinHostPort(server, "25")) {
		r.bad(section+".security",
			"none would send mail and password readable for everybody on the way to %s; write starttls or tls", server)
	}
}

func (r *reader) checkIMAP(m *IMAP) {
	r.checkServer("replies.imap", m.Server, m.Security, m.Port)
	switch {
	case m.Server == "" && m.User != "":
		r.bad("replies.imap.server", "a user is set but no server")
	case m.Server != "" && m.User == "":
		r.bad("replies.imap.user", "the name for the login at %s is missing", m.Server)
	}
	if m.Mailbox == "" || m.Mailbox == m.MoveTo {
		r.bad("replies.imap.mailbox",
			"read %q; name the folder that is read, which is usually INBOX, and another one under move_to", m.Mailbox)
	}
}

func (r *reader) checkMail(m *Mail) {
	r.checkServer("mail", m.Server, m.Security, m.Port)
	if m.FromAddress != "" { // what a round would stumble over
		if err := message.CheckAddress(m.FromAddress); err != nil {
			r.bad("mail.from_address", "%v; write one bare address, such as orders@example.com", err)
		}
	}
	if m.KeepDays < 0 {
		r.bad("mail.keep_days", "read %d; write a number of days, or 0 to keep the texts for ever", m.KeepDays)
	}
	if m.PasswordFile != "" && m.User == "" {
		r.bad("mail.user", "password_file is set but no user")
	}
}

// loopback reports whether an address can be reached from this machine alone.
func loopback(address string) bool {
	host, _, err := net.SplitHostPort(address)
	if err != nil {
		return false
	}
	ip := net.ParseIP(host)
	return host == "localhost" || ip != nil && ip.IsLoopback()
}

// ErrNoPassword says that a user is set but no password was found.
var ErrNoPassword = errors.New("no password")

// Password returns the password for the mail server: from the environment, or
// from password_file, which is looked up from the shop's folder. A file that
// others may read is refused. No error holds what was read.
func (c *Config) Password(home string) (string, error) {
	return password(home, PasswordEnv, "mail.password_file", c.Mail.PasswordFile, c.Mail.User)
}

// IMAPPassword returns the password for the mailbox, likewise.
func (c *Config) IMAPPassword(home string) (string, error) {
	m := &c.Replies.IMAP
	return password(home, IMAPEnv, "replies.imap.password_file", m.PasswordFile, m.User)
}

func password(home, env, key, file, user string) (string, error) {
	if p := os.Getenv(env); p != "" {
		return p, nil
	}
	if file == "" {
		return "", fmt.Errorf("%w for %s: set %s or the variable %s", ErrNoPassword, user, key, env)
	}
	path := Under(home, file)
	info, err := os.Stat(path)
	if errors.Is(err, fs.ErrNotExist) {
		return "", fmt.Errorf("%w: there is no file %s", ErrNoPassword, path)
	}
	if err != nil {
		return "", fmt.Errorf("read password: %w", err)
	}
	if wholefile.OthersMayRead(info) {
		return "", fmt.Errorf("others may read %s; run: chmod 600 %s", path, path)
	}
	text, err := os.ReadFile(path)
	if err != nil {
		return "", fmt.Errorf("read password: %w", err)
	}
	p := strings.TrimRight(string(text), "\r\n")
	if p == "" || strings.ContainsAny(p, "\r\n") {
		return "", fmt.Errorf("%w: %s must hold the password in one line", ErrNoPassword, path)
	}
	return p, nil
}

// Under returns path, looked up from home unless it is absolute.
func Under(home, path string) string {
	if filepath.IsAbs(path) {
		return path
	}
	return filepath.Join(home, path)
}
