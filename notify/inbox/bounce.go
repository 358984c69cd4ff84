package inbox

import (
	"regexp"
	"strings"
)

// Bounce is a notice that mails of ours were not delivered (RFC 3464, or free text).
type Bounce struct {
	// MessageID is the Message-ID of the mail that came back, without brackets.
	MessageID string
	// Failed are the recipients that it did not reach, in lower case; none = the
	// notice does not say.
	Failed []string
	// Status is the code of RFC 3463, such as 5.1.1, and Says the server's words; both may be empty.
	Status, Says string
	// Final reports that nothing more is tried: a delay is no failure yet.
	Final bool
}

var (
	messageID   = regexp.MustCompile(`(?im)^[ \t>]*Message-ID:[ \t\r\n]*<([^<>\s]{3,250})>`)
	statusCode  = regexp.MustCompile(`\b([245]\.\d{1,3}\.\d{1,3})\b`)
	addressed   = regexp.MustCompile(`<?([a-zA-Z0-9.!#$%&'*+/=?^_{|}~-]+@[a-zA-Z0-9.-]+\.[a-zA-Z]{2,})>?`)
	bounceWords = regexp.MustCompile(`(?i)undeliver|delivery (has )?(failed|failure|status)|returned mail|could not be delivered|failure notice|not be delivered`)
)

// findBounce recognizes a notice of failure. Its shape is not trusted: package
// replies believes it only where it names a mail of ours by an ID that cannot be guessed.
func (l *Letter) findBounce(r *reader) {
	local, _, _ := strings.Cut(l.Sender(), "@")
	server := local == "mailer-daemon" || local == "postmaster" ||
		strings.ReplaceAll(l.first("Return-Path"), " ", "") == "<>"
	if !r.report && len(r.status) == 0 && (!server || !bounceWords.MatchString(l.Subject+"\n"+l.Text)) {
		return
	}
	b := &Bounce{Final: true}
	for _, back := range append(append([]string(nil), r.returned...), r.status...) {
		if m := messageID.FindStringSubmatch(back); m != nil && b.MessageID == "" {
			b.MessageID = m[1]
		}
	}
	if len(r.status) > 0 {
		b.read(r.status)
	} else {
		b.guess(l)
	}
	if b.MessageID == "" {
		if m := messageID.FindStringSubmatch(l.Text); m != nil {
			b.MessageID = m[1]
		}
	}
	if r.report && len(r.status) == 0 {
		return // a receipt, or another kind of report
	}
	l.Bounce = b
}

// read takes the recipients that failed from the parts of RFC 3464, section 2.
func (b *Bounce) read(parts []string) {
	final := false
	for _, part := range parts {
		for group := range strings.SplitSeq(strings.ReplaceAll(part, "\r\n", "\n"), "\n\n") {
			action, who, status, says := "", "", "", ""
			for _, f := range fields([]byte(group)) {
				switch strings.ToLower(f.name) {
				case "action":
					action = strings.ToLower(f.value)
				case "final-recipient":
					_, who, _ = strings.Cut(f.value, ";")
				case "original-recipient":
					if who == "" {
						_, who, _ = strings.Cut(f.value, ";")
					}
				case "status":
					status = statusCode.FindString(f.value)
				case "diagnostic-code":
					_, says, _ = strings.Cut(f.value, ";")
				}
			}
			if !strings.HasPrefix(action, "failed") {
				continue
			}
			final = true
			if who = strings.ToLower(strings.Trim(strings.TrimSpace(who), "<>")); who != "" {
				b.Failed = append(b.Failed, who)
			}
			if b.Status == "" {
				b.Status, b.Says = status, strings.TrimSpace(says)
			}
		}
	}
	b.Final = final
}

// guess reads a notice in free text: the code, and the first address that is not
// the notice's own.
func (b *Bounce) guess(l *Letter) {
	b.Status = statusCode.FindString(l.Text)
	for _, m := range addressed.FindAllStringSubmatch(l.Text, 20) {
		who := strings.ToLower(m[1])
		if who == l.Sender() || strings.HasPrefix(who, "mailer-daemon@") || strings.HasPrefix(who, "postmaster@") ||
			strings.Contains(b.MessageID, who) {
			continue
		}
		b.Failed = append(b.Failed, who)
		break
	}
	if strings.HasPrefix(b.Status, "4.") || strings.HasPrefix(b.Status, "2.") {
		b.Final = false
	}
	if low := strings.ToLower(l.Text); strings.Contains(low, "will keep trying") ||
		strings.Contains(low, "will be retried") || strings.Contains(low, "delayed") {
		b.Final = false
	}
}
