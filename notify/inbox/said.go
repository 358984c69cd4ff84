package inbox

import (
	"regexp"
	"strings"
)

// Lines that begin what somebody else wrote. An attribution ends with a colon and
// stands above a quotation; the others stand above a copied mail.
var (
	attribution = regexp.MustCompile(`(?i)^(on|am|le|el|il|op|den|em)\b.{6,200}:$`)
	copied      = regexp.MustCompile(`(?i)^[-_=\s>]*(original message|forwarded message|begin forwarded message|original appointment|ursprüngliche nachricht|weitergeleitete nachricht|message d'origine|message transféré|mensaje original|mensaje reenviado)\b.*$`)
	copiedFrom  = regexp.MustCompile(`(?i)^\*?(from|von|de|da|van|från|od)\s?:\*?\s`)
	bar         = regexp.MustCompile(`^[_=-]{10,}$`)
)

// mostLines is the number of lines that are read for what a sender says.
const mostLines = 2000

// said returns the lines that the sender wrote: no quotation, nothing that was
// forwarded, no signature, no empty line.
func said(text string) []string {
	lines := strings.Split(text, "\n")
	lines = lines[:min(len(lines), mostLines)]
	var out []string
	for i, line := range lines {
		line = strings.TrimSpace(strings.TrimRight(line, "\r"))
		switch {
		case strings.TrimRight(lines[i], "\r\n") == "-- ", line == "--":
			return out
		case line == "" || strings.HasPrefix(line, ">") || bar.MatchString(line) && !below(lines[i+1:]):
			continue
		case bar.MatchString(line), copied.MatchString(line), copiedFrom.MatchString(line) && headers(lines[i:]):
			return out
		case wrapped(lines[i:]):
		case attribution.MatchString(line):
			if !quotes(lines[i+1:]) { // the copy below it is not marked as one
				return out
			}
		case ends(lines[:i], line):
		default:
			out = append(out, line)
		}
	}
	return out
}

// wrapped reports an attribution that a mail program broke over two lines.
func wrapped(lines []string) bool {
	if len(lines) < 2 {
		return false
	}
	both := strings.TrimSpace(lines[0]) + " " + strings.TrimSpace(lines[1])
	return !strings.HasSuffix(strings.TrimSpace(lines[0]), ":") && attribution.MatchString(both) && quotes(lines[2:])
}

// ends reports the second line of a broken attribution.
func ends(before []string, line string) bool {
	if len(before) == 0 || !strings.HasSuffix(line, ":") {
		return false
	}
	return attribution.MatchString(strings.TrimSpace(before[len(before)-1]) + " " + line)
}

// quotes reports whether the next line that says anything is a quotation.
func quotes(lines []string) bool {
	for _, line := range lines {
		if line = strings.TrimSpace(line); line != "" {
			return strings.HasPrefix(line, ">")
		}
	}
	return false
}

// below reports whether the headers of a copied mail follow a bar.
func below(lines []string) bool {
	for i, line := range lines {
		if strings.TrimSpace(line) != "" {
			return headers(lines[i:])
		}
	}
	return false
}

// headers reports whether lines begin as a copied mail does: two or more of its
// headers within five lines.
func headers(lines []string) bool {
	n := 0
	for _, line := range lines[:min(len(lines), 5)] {
		if name, _, ok := strings.Cut(strings.Trim(strings.TrimSpace(line), "*"), ":"); ok && len(name) > 1 &&
			len(name) < 14 && !strings.Contains(strings.TrimSpace(name), " ") {
			n++
		}
	}
	return n >= 2
}
