package inbox

import (
	"bytes"
	"fmt"
	"mime"
	"slices"
	"strings"

	"github.com/emersion/go-msgauth/authres"
	"github.com/emersion/go-msgauth/dkim"
	"golang.org/x/net/publicsuffix"
)

// Trust holds the settings by which a shop knows who a mail is from.
type Trust struct {
	// Server is the name under which the shop's own mail server writes its findings
	// into Authentication-Results (RFC 8601); empty = none is believed.
	Server string
	// LookupTXT finds the keys of signatures in the DNS; nil = signatures are not checked.
	LookupTXT func(domain string) ([]string, error)
}

// mustSign are the headers that a signature must cover to be believed: a mail
// with another sender, receiver, subject or day is another mail.
var mustSign = []string{"from", "to", "subject", "date"}

// mostSignatures bounds the work on one mail.
const mostSignatures = 5

// Believe says why the sender of a mail is to be believed, or why not. The mail
// must have one From; then the shop's own server says that DMARC passed (RFC
// 7489), or a signature of the sender's domain (RFC 6376) that covers From, To,
// Subject and Date is good.
//
// The error is of the lookup of keys: the same mail may be believed later.
func (l *Letter) Believe(t Trust) (why string, ok bool, err error) {
	sender := l.Sender()
	_, domain, _ := strings.Cut(sender, "@")
	if domain == "" {
		return "it does not come from one readable address", false, nil
	}
	for _, name := range mustSign {
		if len(l.all(name)) > 1 {
			return "it has more than one " + name + " header", false, nil
		}
	}
	if t.Server != "" {
		if passed, said := l.serverSays(t.Server, domain); said {
			if passed {
				return "the mail server found it genuine", true, nil
			}
			return "the mail server does not find it genuine", false, nil
		}
	}
	if t.LookupTXT != nil {
		good, err := l.signed(t, domain)
		if good || err != nil {
			return "it is signed by " + domain, good, err
		}
	}
	return "nothing shows that it really comes from " + sender, false, nil
}

// serverSays reads the topmost Authentication-Results, and only where the shop's own server
// wrote it: what stands below may come from the sender.
func (l *Letter) serverSays(server, domain string) (passed, said bool) {
	top := l.first("Authentication-Results")
	if top == "" {
		return false, false
	}
	id, results, err := authres.Parse(top)
	if err != nil || !strings.EqualFold(id, server) {
		return false, false
	}
	for _, r := range results {
		d, ok := r.(*authres.DMARCResult)
		if !ok {
			continue
		}
		said = true
		// A result for another domain than the one in From says nothing about this mail.
		if d.Value == authres.ResultPass && (d.From == "" || aligned(d.From, domain)) {
			passed = true
		} else {
			return false, true
		}
	}
	return passed, said
}

// signed checks the signatures of the mail.
func (l *Letter) signed(t Trust, domain string) (good bool, err error) {
	results, err := dkim.VerifyWithOptions(bytes.NewReader(l.raw),
		&dkim.VerifyOptions{LookupTXT: t.LookupTXT, MaxVerifications: mostSignatures})
	if err != nil && len(results) == 0 {
		return false, nil // headers that no signature can be found in
	}
	for _, v := range results {
		switch {
		case !aligned(v.Domain, domain):
		case v.Err == nil && covers(v.HeaderKeys, mustSign...) &&
			(covers(v.HeaderKeys, structure...) || l.plainlyBuilt()):
			return true, nil
		case dkim.IsTempFail(v.Err):
			err = v.Err
		}
	}
	if err != nil && dkim.IsTempFail(err) {
		return false, fmt.Errorf("look up the key of a signature of %s: %w", domain, err)
	}
	return false, nil
}

// structure are the headers that say how a body is to be read. Many signers leave
// them out.
var structure = []string{"content-type", "content-transfer-encoding"}

// plainlyBuilt reports whether a body agrees with the Content-Type above it. Where no
// signature covers that header somebody may have changed it, so that other words of
// the body are read than its sender meant; but then the parts begin where no mail
// program begins them: not with the first line, or with a line that is text.
func (l *Letter) plainlyBuilt() bool {
	if len(l.all("Content-Type")) > 1 || len(l.all("Content-Transfer-Encoding")) > 1 {
		return false
	}
	_, body := split(l.raw)
	first, _, _ := bytes.Cut(bytes.TrimLeft(body, "\r\n"), []byte("\n"))
	kind, params, err := mime.ParseMediaType(l.first("Content-Type"))
	switch {
	case l.first("Content-Type") == "":
		return !bytes.HasPrefix(first, []byte("--"))
	case err != nil:
		return false
	case strings.HasPrefix(kind, "multipart/"):
		return params["boundary"] != "" && string(bytes.TrimRight(first, "\r \t")) == "--"+params["boundary"]
	case kind == "text/plain":
		return !bytes.HasPrefix(first, []byte("--"))
	}
	return kind == "text/html" && bytes.Contains(body, []byte("<"))
}

func covers(keys []string, names ...string) bool {
	for _, name := range names {
		if !slices.ContainsFunc(keys, func(k string) bool { return strings.EqualFold(strings.TrimSpace(k), name) }) {
			return false
		}
	}
	return true
}

// aligned compares organizational domains, as relaxed alignment does (RFC 7489,
// section 3.1.1).
func aligned(a, b string) bool {
	a, b = strings.ToLower(strings.TrimSuffix(a, ".")), strings.ToLower(strings.TrimSuffix(b, "."))
	if a == b {
		return true
	}
	oa, err := publicsuffix.EffectiveTLDPlusOne(a)
	ob, err2 := publicsuffix.EffectiveTLDPlusOne(b)
	return err == nil && err2 == nil && oa == ob
}
