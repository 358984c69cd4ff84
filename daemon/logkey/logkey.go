// Package logkey names the facts that the daemon's log tells, so that each has
// one name everywhere. Names and addresses of people are not among them.
package logkey

import (
	"io"
	"log/slog"
	"os"
	"regexp"

	"golang.org/x/term"
)

// Keys of the log.
const (
	Job      = "job"
	Slot     = "slot"
	Missed   = "missed"   // slots that one stands for
	Attempt  = "attempt"  // 1 = the first
	Took     = "took"     // duration
	Error    = "error"    // a sentence
	Client   = "client"   // code
	Message  = "message"  // number in the outbox
	Kind     = "kind"     // of a message or file
	Outcome  = "outcome"  // of a delivery
	Code     = "code"     // SMTP reply code
	Next     = "next"     // time of the next try
	Count    = "count"    // how many
	File     = "file"     // name of a file
	Way      = "way"      // smtp or folder
	Address  = "address"  // of the monitoring page
	Database = "database" // path
	Bytes    = "bytes"
	People   = "people"  // how many
	Mails    = "mails"   // how many
	Files    = "files"   // how many
	Backups  = "backups" // what they still hold, a sentence
)

// New returns a logger: text on a terminal and JSON otherwise, unless format says.
func New(w io.Writer, format, level string) *slog.Logger {
	var l slog.Level
	_ = l.UnmarshalText([]byte(level)) // checked by the config; info otherwise
	opt := &slog.HandlerOptions{Level: l, ReplaceAttr: withoutAddress}
	if format == "text" || format != "json" && terminal(w) {
		return slog.New(slog.NewTextHandler(w, opt))
	}
	return slog.New(slog.NewJSONHandler(w, opt))
}

var address = regexp.MustCompile(`[^\s<>()"',;:]+@[^\s<>()"',;:]+`)

// withoutAddress takes mail addresses out of a sentence, such as one in which a
// mail server repeats whom it refuses.
func withoutAddress(_ []string, a slog.Attr) slog.Attr {
	if a.Value.Kind() == slog.KindString {
		a.Value = slog.StringValue(address.ReplaceAllString(a.Value.String(), "(an address)"))
	}
	return a
}

func terminal(w io.Writer) bool {
	f, ok := w.(*os.File)
	return ok && term.IsTerminal(int(f.Fd()))
}
