package inbox

import (
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/kitmuster/kitmuster/programme"
)

// Verdict is the meaning of the sender's own words.
type Verdict string

// Verdicts. Only a closed list of words makes a yes or a no; all else is Unclear,
// and a person reads it.
const (
	Yes     Verdict = "yes"
	Changes Verdict = "changes" // a yes with changes, which a list must name
	NotNow  Verdict = "not now"
	No      Verdict = "no"
	Unclear Verdict = "unclear"
)

// Answer holds what a mail says about a proposal.
type Answer struct {
	Verdict Verdict
	// Until is the day that a not now names; 0 = none.
	Until programme.Date
	// Because is the reason of a no or not now; OrderNumber the customer's own, of a yes.
	Because, OrderNumber string
	// Doubt says what keeps a person reading; empty where the verdict stands.
	Doubt string
}

// About holds what a mail may name without saying something new: the numbers of the
// form that its token names.
type About struct {
	Proposal int64
	Form     int
	Pieces   int
}

// vocabulary is words that may stand beside a head in the first line. A word that is
// in none of the lists makes it unclear.
func vocabulary(s string) map[string]bool {
	m := map[string]bool{}
	for w := range strings.FieldsSeq(s) {
		m[w] = true
	}
	return m
}

var (
	yesHeads = []string{"yes", "yep", "yeah", "ok", "okay", "approved", "agreed", "confirmed", "go ahead",
		"please go ahead", "please proceed", "please order", "all good", "sounds good"}
	yesWords = vocabulary(`yes yep yeah ok okay approved agreed confirmed confirm we i go ahead please proceed order thanks thank
		you many very much
		all good sounds fine great perfect that's thats is this that it them the a to with proposal form number pieces
		piece for us from me our side and happy of as proposed lovely cheers looks`)
	noHeads = []string{"no", "nope", "declined", "we decline", "no thanks", "no thank you", "please cancel", "cancel"}
	noWords = vocabulary(`no nope thanks thank you we decline declined i don't dont do not want need it this them please cancel the order proposal
		number form that is all but for to`)
	laterHeads = []string{"not now", "not yet", "later", "maybe later", "please ask again"}
	laterWords = vocabulary(`not now yet later maybe please ask again thanks thank you about proposal number form on in the we i it this`)
	changeHead = regexp.MustCompile(`^(yes|ok|okay|approved|agreed)\b.*\b(with (these|the|some|my|our|a few|following)?\s?(following )?changes?)\b`)
	// hazards in later lines turn a plain yes into a question.
	hazards = regexp.MustCompile(`(?i)\b(but|not|don't|dont|except|instead|only|less|fewer|more|another|extra|change|changes|cancel|wait|hold|without|remove|add|drop|unless|if|before|after|however|although|wrong|also|plus|minus|swap|replace|which|when|no)\b|\?`)
	// relents are words after a no that may take it back.
	relents  = regexp.MustCompile(`(?i)\b(but|only|except|instead|unless|yes|just|rather)\b|\?`)
	greeting = regexp.MustCompile(`(?i)^(hi|hello|hey|dear|good (morning|afternoon|evening|day))\b[\p{L} .'-]{0,40}[,!.:]?$`)
	filled   = regexp.MustCompile(`(?i)^(name|order number, if any|our order number|because|please ask again about proposal \d+ on)\s*:\s*(.*)$`)
	closing  = regexp.MustCompile(`(?i)^(thanks?|thank you|many thanks|kind regards|best regards|best wishes|regards|best|cheers|yours|yours sincerely|sincerely)\b[\p{L} ,.!'-]{0,40}$`)
	number   = regexp.MustCompile(`^\d+$`)
)

// Judge reads what a mail says about the proposal that its token names. The first
// line of the sender's own decides, by closed lists of words; later lines can only
// turn it into a doubt.
func (l *Letter) Judge(a About, today programme.Date) Answer {
	lines := l.Said
	if len(lines) > 0 && greeting.MatchString(lines[0]) {
		lines = lines[1:]
	}
	if len(lines) == 0 {
		return Answer{Verdict: Unclear, Doubt: "it says nothing of its own"}
	}
	out := Answer{Verdict: verdict(lines[0], a)}
	if out.Verdict == Unclear {
		out.Doubt = "its first line is not one of the words for yes and no that are known"
		return out
	}
	out.fill(lines[1:], today)
	out.weigh(lines[1:])
	return out
}

// weigh reads what follows the first line: it can make a doubt of a yes or a no,
// and is the reason of a no.
func (out *Answer) weigh(lines []string) {
	doubts := map[Verdict]*regexp.Regexp{Yes: hazards, No: relents, NotNow: relents}[out.Verdict]
	var rest []string
	for _, line := range lines {
		if filled.MatchString(line) || closing.MatchString(line) {
			continue
		}
		rest = append(rest, line)
		if doubts != nil && doubts.MatchString(line) {
			out.Doubt = "after its first line it says more, which may change what is meant"
		}
	}
	if out.Verdict == No && out.Because == "" {
		out.Because = strings.Join(rest, " ")
	}
}

// verdict judges one line.
func verdict(line string, a About) Verdict {
	line = plain(line)
	if changeHead.MatchString(line) {
		return Changes
	}
	for _, v := range []struct {
		verdict Verdict
		heads   []string
		words   map[string]bool
	}{{NotNow, laterHeads, laterWords}, {No, noHeads, noWords}, {Yes, yesHeads, yesWords}} {
		if begins(line, v.heads) && only(line, v.words, a) {
			return v.verdict
		}
	}
	return Unclear
}

func begins(line string, heads []string) bool {
	return slices.ContainsFunc(heads, func(h string) bool { return line == h || strings.HasPrefix(line, h+" ") })
}

// only reports whether a line has no word and no number beside those.
func only(line string, words map[string]bool, a About) bool {
	for w := range strings.FieldsSeq(line) {
		if number.MatchString(w) {
			n, err := strconv.ParseInt(w, 10, 64)
			if err != nil || n != a.Proposal && n != int64(a.Form) && n != int64(a.Pieces) {
				return false
			}
			continue
		}
		if !words[w] {
			return false
		}
	}
	return true
}

// plain is a line in lower case without punctuation but for question marks, which
// are words of their own: a question is no answer.
func plain(line string) string {
	line = strings.NewReplacer("’", "'", "?", " ? ").Replace(strings.ToLower(line))
	line = strings.Map(func(r rune) rune {
		if strings.ContainsRune(".,;:!\"“”()[]*_–—-/", r) {
			return ' '
		}
		return r
	}, line)
	return strings.Join(strings.Fields(line), " ")
}

// fill takes what stands behind the labels of our own links.
func (out *Answer) fill(lines []string, today programme.Date) {
	for i, line := range lines {
		m := filled.FindStringSubmatch(line)
		if m == nil {
			continue
		}
		value := strings.TrimSpace(m[2])
		if value == "" && i+1 < len(lines) && !filled.MatchString(lines[i+1]) && !closing.MatchString(lines[i+1]) {
			value = lines[i+1]
		}
		switch label := strings.ToLower(m[1]); {
		case strings.HasSuffix(label, "order number") || strings.HasPrefix(label, "order number"):
			out.OrderNumber = value
		case label == "because":
			out.Because = value
		case strings.HasPrefix(label, "please"):
			if out.Until = day(value, today); out.Until == 0 && value != "" {
				out.Doubt = "the day on which to ask again cannot be read"
			}
		}
	}
}

// dayForms are dates that mean one day to everybody; 3/4/2027 does not.
var dayForms = []string{"2006-01-02", "2 January 2006", "2 Jan 2006", "January 2 2006", "Jan 2 2006", "2 January",
	"2 Jan", "January 2", "Jan 2"}

// day reads a date that names its month in letters or stands as 2027-03-01; one
// without a year is the next such day.
func day(s string, today programme.Date) programme.Date {
	s = strings.Join(strings.Fields(strings.NewReplacer(",", " ", ".", " ").Replace(s)), " ")
	for _, form := range dayForms {
		t, err := time.Parse(form, s)
		if err != nil {
			continue
		}
		if t.Year() == 0 {
			t = t.AddDate(today.Time().Year(), 0, 0)
			if programme.DateOf(t) <= today {
				t = t.AddDate(1, 0, 0)
			}
		}
		return programme.DateOf(t)
	}
	return 0
}
