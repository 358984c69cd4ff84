// Package config reads config.yaml: when the daemon does what, how mail leaves
// the shop, where files lie. What the shop sells and buys is in shop.yaml.
//
// Every problem is reported at once with its line and the nearest key. Each
// value can also come from the environment: mail.server from
// KITMUSTER_MAIL_SERVER, and so on. Secrets are never in the file: they come
// from a file of their own or from the environment.
package config

import (
	"time"
)

// Config is everything that config.yaml can say. The tags make its defaults,
// its checks and config.example.yaml, so that the three cannot differ.
type Config struct {
	Schedule Schedule `yaml:"schedule" doc:"When things are done: minute, hour, day of month, month, weekday (0 = Sunday), by the clock of the shop's time zone."`
	Limits   Limits   `yaml:"limits" doc:"How long a job may take before it is stopped and reported, and how hard sheets are searched for."`
	Mail     Mail     `yaml:"mail" doc:"How mail leaves. Without a server, messages are written to a folder, each with a page for the browser beside it."`
	Replies  Replies  `yaml:"replies" doc:"Answers by mail. With an address, each yes link carries a mark, and what comes back with it is carried out or put before you."`
	Drop     Drop     `yaml:"drop" doc:"Files put into this folder are taken in: roster--CLIENT.csv, ledger--CLIENT.csv, counts--CLIENT.xlsx, day-sheet--CLIENT.xlsx, stock.csv."`
	Backup   Backup   `yaml:"backup" doc:"Checked copies of the database, and how many are kept."`
	HTTP     HTTP     `yaml:"http" doc:"A page for monitoring on this machine: /healthz and /metrics."`
	Desk     Desk     `yaml:"desk" doc:"The desk: pages in a browser of this machine for what happens day by day. 'kitmuster desk' opens it."`
	Log      Log      `yaml:"log" doc:"The log of the service, on standard error, as it is set when the service starts. It names no staff and no addresses."`
}

// Schedule holds the cron expression of each job.
type Schedule struct {
	Round     string        `yaml:"round" default:"30 6 * * 1" doc:"The round over all clients, ending in the week's mails."`
	Clients   []ClientRound `yaml:"clients" doc:"Clients with a round of their own besides, such as {client: bakery, round: \"0 7 1 * *\"}; schedule in a client's programme does the same."`
	Outbox    string        `yaml:"outbox" default:"* * * * *" doc:"Sending what waits."`
	Drop      string        `yaml:"drop" default:"* * * * *" doc:"Looking into the drop folder."`
	Replies   string        `yaml:"replies" default:"* * * * *" doc:"Reading what customers answered by mail."`
	Backup    string        `yaml:"backup" default:"15 2 * * *" doc:"The copy of the database."`
	SelfCheck string        `yaml:"self_check" default:"45 3 * * *" doc:"Checking the database, the disk and the age of the last backup."`
}

// ClientRound is a client with a round of its own.
type ClientRound struct {
	Client string `yaml:"client"`
	Round  string `yaml:"round"`
}

// Limits holds the longest times that jobs may take.
type Limits struct {
	Round time.Duration `yaml:"round" default:"30m" doc:"A round; a thousand clients take about two minutes."`
	Other time.Duration `yaml:"other" default:"10m" doc:"Every other job."`
	Tries int           `yaml:"tries" default:"10000" doc:"How many tries the transfer sheets of a round or an order get. More find cheaper sheets and take longer: 10000 half a minute at the most. It goes by tries, not by time, so that every machine finds the same; 0 = a quick look."`
}

// Mail holds the settings by which messages are sent.
type Mail struct {
	FromName     string        `yaml:"from_name" default:"" doc:"Who the mails come from; empty = the owner of shop.yaml."`
	FromAddress  string        `yaml:"from_address" default:"" doc:"The address they come from; empty = the owner's."`
	Server       string        `yaml:"server" default:"" doc:"Host name of the mail server; empty = write to the folder."`
	Port         int           `yaml:"port" default:"587" doc:"587 with starttls, 465 with tls."`
	Security     string        `yaml:"security" default:"starttls" doc:"starttls, tls, or none (only for a server on this machine). The server's certificate is checked."`
	User         string        `yaml:"user" default:"" doc:"Name for the login; empty = no login."`
	PasswordFile string        `yaml:"password_file" default:"" doc:"File that holds the password and that only its owner may read. Or set KITMUSTER_SMTP_PASSWORD."`
	PerMinute    int           `yaml:"per_minute" default:"30" doc:"Most messages in a minute; 0 = no limit."`
	Most         int           `yaml:"most" default:"15" doc:"Most megabytes of one mail; the server's own limit counts too. What does not fit lies in the folder papers/, and the mail names it. 0 = the server's limit alone."`
	Step         time.Duration `yaml:"step" default:"5m" doc:"How long to wait for each answer of the server; twice as long for the answer to a whole mail, three fifths for each block of one. RFC 5321 asks for no less."`
	Folder       string        `yaml:"folder" default:"mail" doc:"Folder for messages when no server is set."`
	KeepDays     int           `yaml:"keep_days" default:"400" doc:"For how many days the text of a mail is kept in the database after it went out; who got it and when stays on record. 0 = for ever."`
}

// Replies holds the mailbox that answers come back to, and the servers that are believed about their senders.
type Replies struct {
	Address       string `yaml:"address" default:"" doc:"The address that customers answer to; empty = answers go to the client's manager, who enters them."`
	MarkedAddress string `yaml:"marked_address" default:"no" doc:"yes puts the mark into the address too, behind a +, for mail servers that take such addresses: answers+MARK@shop.example. It survives where somebody changes the subject."`
	Folder        string `yaml:"folder" default:"inbox" doc:"A mail folder (Maildir: new and cur within) into which a mail program or server puts what comes; files that end in .eml may be put into it by hand."`
	TrustedServer string `yaml:"trusted_server" default:"" doc:"The name under which your own mail server writes into Authentication-Results whether a mail is genuine; look for the topmost such line of a mail that you got. Empty = that line is not believed."`
	Signatures    string `yaml:"signatures" default:"yes" doc:"yes checks the signatures of mails (DKIM), for which keys are looked up in the DNS; no does not. Without a trusted server and without signatures every answer is put aside for you."`
	IMAP          IMAP   `yaml:"imap" doc:"A mailbox that is read over IMAP, besides the folder. What is read stays there, unread."`
}

// IMAP is a mailbox at a server.
type IMAP struct {
	Server       string        `yaml:"server" default:"" doc:"Host name of the server; empty = no mailbox is read."`
	Port         int           `yaml:"port" default:"993" doc:"993 with tls, 143 with starttls."`
	Security     string        `yaml:"security" default:"tls" doc:"tls, starttls, or none (only for a server on this machine). The server's certificate is checked."`
	User         string        `yaml:"user" default:"" doc:"Name for the login, often the whole address."`
	PasswordFile string        `yaml:"password_file" default:"" doc:"File that holds the password and that only its owner may read. Or set KITMUSTER_IMAP_PASSWORD."`
	Mailbox      string        `yaml:"mailbox" default:"INBOX" doc:"The folder of the mailbox that is read."`
	MoveTo       string        `yaml:"move_to" default:"" doc:"The folder that mails are moved to when they are read, which must be there; empty = they stay where they are."`
	Step         time.Duration `yaml:"step" default:"1m" doc:"How long the server may be silent when it owes an answer; then the connection is closed and tried again."`
}

// Drop is the drop folder.
type Drop struct {
	Folder string        `yaml:"folder" default:"drop" doc:"The folder; what was taken is moved to done/ within, what was not to refused/, each with a report; both lie there as long as the client's programme keeps names (forget_after_days)."`
	Settle time.Duration `yaml:"settle" default:"10s" doc:"How long a file must lie unchanged before it is taken."`
}

// Backup holds the folder of copies and how many of them are kept.
type Backup struct {
	Folder  string `yaml:"folder" default:"backup" doc:"The folder; another disk is better."`
	Daily   int    `yaml:"daily" default:"7" doc:"Newest copies of so many days are kept,"`
	Weekly  int    `yaml:"weekly" default:"5" doc:"of so many weeks,"`
	Monthly int    `yaml:"monthly" default:"12" doc:"and of so many months."`
}

// HTTP is the page for monitoring.
type HTTP struct {
	Listen string `yaml:"listen" default:"" doc:"Address on this machine, such as 127.0.0.1:9187; empty = no page."`
}

// Desk holds the address at which the desk is served.
type Desk struct {
	Listen  string `yaml:"listen" default:"" doc:"Address on this machine, such as 127.0.0.1:9188; empty = no desk."`
	Address string `yaml:"address" default:"" doc:"Where a proxy on this machine serves it with TLS to others, such as https://desk.shop.example; empty = this machine alone uses it."`
}

// Log is the log.
type Log struct {
	Format string `yaml:"format" default:"auto" doc:"text, json, or auto: text on a terminal, json otherwise."`
	Level  string `yaml:"level" default:"info" doc:"debug, info, warn or error."`
}

// Names of the file and of the variables that may hold passwords.
const (
	FileName    = "config.yaml"
	PasswordEnv = "KITMUSTER_SMTP_PASSWORD"
	IMAPEnv     = "KITMUSTER_IMAP_PASSWORD"
	envPrefix   = "KITMUSTER"
)
