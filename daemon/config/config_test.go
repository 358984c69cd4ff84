package config_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/daemon/config"
)

func read(text string) (*config.Config, error) {
	return config.Read("config.yaml", []byte(text), time.UTC)
}

func TestTheExampleIsTheDefaults(t *testing.T) {
	path := filepath.Join("..", "..", "config.example.yaml")
	if os.Getenv("UPDATE_GOLDEN") == "1" {
		require.NoError(t, os.WriteFile(path, []byte(config.Example()), 0o644))
	}
	text, err := os.ReadFile(path)
	require.NoError(t, err)
	require.Equal(t, config.Example(), string(text), "renew with UPDATE_GOLDEN=1")
	fromExample, err := read(string(text))
	require.NoError(t, err)
	fromNothing, err := read("")
	require.NoError(t, err)
	fromNothing.Schedule.Clients = fromExample.Schedule.Clients
	require.Equal(t, fromNothing, fromExample)
	require.Equal(t, "30 6 * * 1", fromNothing.Schedule.Round)
	require.Equal(t, 30*time.Minute, fromNothing.Limits.Round)
	require.Equal(t, 587, fromNothing.Mail.Port)
}

func TestEveryProblemAtOnceWithLineAndNearestKey(t *testing.T) {
	_, err := read(`schedule:
  ronud: "30 6 * * 1"
limits:
  round: 30
mail:
  prot: 587
  password: hunter2
  port: 587.9
bakcup: {}
`)
	var problems config.Problems
	require.ErrorAs(t, err, &problems)
	require.Equal(t, `config.yaml line 2, schedule: unknown key ronud; did you mean round?
config.yaml line 4, limits.round: read "30" where a time with its unit belongs, such as 30s, 10m or 2h
config.yaml line 6, mail: unknown key prot; did you mean port?
config.yaml line 7, mail.password: passwords do not belong into this file; name a file with password_file, or set KITMUSTER_SMTP_PASSWORD
config.yaml line 8, mail.port: read "587.9" where a whole number belongs
config.yaml line 9: unknown key bakcup; did you mean backup?`, err.Error())
	require.NotContains(t, err.Error(), "hunter2")
}

func TestValuesThatMakeNoSense(t *testing.T) {
	for text, want := range map[string]string{
		"schedule: {round: \"0 0 31 2 *\"}":                         "line 1, schedule.round: \"0 0 31 2 *\" never comes",
		"schedule:\n  clients:\n  - {client: bakery, round: \"x\"}": "line 3, schedule.clients[1]",
		"schedule:\n  clients:\n  - {client: bakery, when: x}":      "line 3, schedule.clients[1]: unknown key when; known here are: client, round",
		"schedule:\n  clients: bakery":                              "line 2, schedule.clients: read \"bakery\"; write a list",
		"mail: {server: mail.example.com, security: none}":          "readable for everybody",
		"mail: {server: \"mail.example.com:587\"}":                  "host name alone",
		"mail: {security: tls1.0}":                                  "write one of starttls, tls, none",
		"mail: {port: 70000}":                                       "1 to 65535",
		"mail: {password_file: p}":                                  "no user",
		"mail: {from_address: \"Ann <a@b.c>\"}":                     "bare address",
		"mail: {from_address: orders@intranet}":                     "is not a mail address",
		"mail: {from_address: \"@\"}":                               "is not a mail address",
		"mail: {from_address: anna@müller.example}":                 "xn--mller-kva.example",
		"http: {listen: \"0.0.0.0:9187\"}":                          "this machine alone",
		"http: {listen: \":9187\"}":                                 "this machine alone",
		"log: {level: loud}":                                        "debug, info, warn, error",
		"backup: {daily: 0}":                                        "one copy at least",
		"backup: {daily: -3}":                                       "whole number",
		"mail: 5":                                                   "line 1, mail: read \"5\"; write keys and values under it",
		"a: [":                                                      "line 1: this is not well-formed YAML",
		"log: {level: info}\n---\nlog: {level: debug}":              "line 2: a second document",
		"log: {level: info}\nlog: {level: debug}":                   "twice",
		"mail: {port: &a 25, per_minute: *a}":                       "repeats a value from elsewhere",
		"mail: {server: [a, b]}":                                    "line 1, mail.server: read a list; write one value",
		"mail: {smtp_password: x}":                                  "passwords do not belong",
		"mail: {step: -5s}":                                         "time with its unit",
	} {
		_, err := read(text)
		require.ErrorContains(t, err, want, text)
	}
}

func TestTheEnvironmentWinsOverTheFile(t *testing.T) {
	t.Setenv("KITMUSTER_MAIL_PORT", "2525")
	t.Setenv("KITMUSTER_SCHEDULE_SELF_CHECK", "0 5 * * *")
	c, err := read("mail: {port: 465}\n")
	require.NoError(t, err)
	require.Equal(t, 2525, c.Mail.Port)
	require.Equal(t, "0 5 * * *", c.Schedule.SelfCheck)

	t.Setenv("KITMUSTER_MAIL_PORT", "many")
	_, err = read("")
	require.ErrorContains(t, err, "KITMUSTER_MAIL_PORT")
}

func TestClientsWithARoundOfTheirOwn(t *testing.T) {
	c, err := read("schedule:\n  clients:\n    - client: Bakery.North\n      round: \"0 7 1 * *\"\n")
	require.NoError(t, err)
	require.Equal(t, []config.ClientRound{{Client: "Bakery.North", Round: "0 7 1 * *"}}, c.Schedule.Clients)
}

func TestPasswordFile(t *testing.T) {
	home := t.TempDir()
	c, err := read("mail: {server: mail.example.com, user: shop, password_file: secret}")
	require.NoError(t, err)
	_, err = c.Password(home)
	require.ErrorIs(t, err, config.ErrNoPassword)

	path := filepath.Join(home, "secret")
	require.NoError(t, os.WriteFile(path, []byte("s3cret-value\n"), 0o644))
	_, err = c.Password(home)
	require.ErrorContains(t, err, "chmod 600")
	require.NotContains(t, err.Error(), "s3cret-value")
	require.NoError(t, os.Chmod(path, 0o600))
	p, err := c.Password(home)
	require.NoError(t, err)
	require.Equal(t, "s3cret-value", p)

	t.Setenv(config.PasswordEnv, "from-outside")
	p, err = c.Password(home)
	require.NoError(t, err)
	require.Equal(t, "from-outside", p)
}

func FuzzRead(f *testing.F) {
	for _, s := range []string{config.Example(), "", "a: [", "schedule: {clients: [{client: x}]}", "mail: {port: 0x1}",
		"log: &a {level: *a}", "? - x\n", "\xff\xfe", strings.Repeat("a: {", 100)} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		c, err := read(text)
		if err == nil {
			require.NotEmpty(t, c.Schedule.Round)
			return
		}
		var problems config.Problems
		require.ErrorAs(t, err, &problems, "%q", text)
	})
}

// The desk is for this machine alone; others reach it through a proxy with TLS or not at all.
func TestTheDeskIsServedOnThisMachineAlone(t *testing.T) {
	for text, wrong := range map[string]string{
		"desk: {listen: \"127.0.0.1:9188\"}":                                           "",
		"desk: {listen: \"[::1]:9188\", address: \"https://desk.shop.example\"}":       "",
		"desk: {listen: \"0.0.0.0:9188\"}":                                             "desk.listen",
		"desk: {listen: \":9188\"}":                                                    "desk.listen",
		"desk: {listen: \"192.168.1.4:9188\"}":                                         "desk.listen",
		"desk: {listen: \"127.0.0.1:9188\", address: \"http://desk.shop.example\"}":    "desk.address",
		"desk: {listen: \"127.0.0.1:9188\", address: \"https://desk.shop.example/x\"}": "desk.address",
		"desk: {address: \"https://desk.shop.example\"}":                               "desk.address",
		"desk: {listen: \"127.0.0.1:9188\"}\nhttp: {listen: \"127.0.0.1:9188\"}":       "desk.listen",
	} {
		_, err := config.Read("config.yaml", []byte(text), time.UTC)
		if wrong == "" {
			require.NoError(t, err, text)
			continue
		}
		require.ErrorContains(t, err, wrong, text)
	}
}
