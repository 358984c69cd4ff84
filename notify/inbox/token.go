package inbox

import (
	"crypto/hmac"
	"crypto/rand"
	"crypto/sha256"
	"crypto/subtle"
	"encoding/base32"
	"errors"
	"fmt"
	"regexp"
	"strconv"
	"strings"
	"time"

	"github.com/kitmuster/kitmuster/programme"
)

// Token says which question an answer is to: which proposal in which form, or which
// list of which client. It stands in the subject of every yes link and in the address
// that answers go to, since a mail program makes a Message-ID of its own when somebody
// sends a draft, so that no thread leads back to it.
type Token struct {
	Kind   Kind
	Number int64 // of the proposal, or of the client in the books
	Form   int   // of the proposal, counted from 1, or the day of the list as 20260309
}

// Kind is the kind of question that a token stands for: the letter that it begins with.
type Kind string

// Kinds of tokens.
const (
	ToProposal Kind = "p"
	ToCount    Kind = "c"
	ToDaySheet Kind = "d"
	ToRoster   Kind = "r"
)

// signedAs are the words that a mark is made over.
var signedAs = map[Kind]string{ToProposal: "proposal", ToCount: "count", ToDaySheet: "day-sheet", ToRoster: "roster"}

// ListToken is the token of a list of a client, by its number in the books, of a day.
func ListToken(k Kind, client int64, day programme.Date) Token {
	y, m, d := day.Time().Date()
	return Token{k, client, 10_000*y + 100*int(m) + d}
}

// Day is the day of a list; ok is false where the token names none.
func (t Token) Day() (day programme.Date, ok bool) {
	y, m, d := t.Form/10_000, t.Form/100%100, t.Form%100
	day = programme.NewDate(y, time.Month(m), d)
	return day, ListToken(t.Kind, t.Number, day) == t
}

// Question holds what a token is signed for besides its own numbers. It is looked up
// by them, so that it need not be written in the token.
type Question struct {
	Client string
	// Until is the last day on which an answer by mail is taken without a person.
	Until programme.Date
}

// Keys sign and check tokens. The first signs; the others are former ones, whose
// tokens are good until they run out.
type Keys [][]byte

// KeyBytes is the length of a key, as long as the hash that it is used with.
const KeyBytes = sha256.Size

// NewKey returns a key drawn by the system.
func NewKey() []byte {
	key := make([]byte, KeyBytes)
	_, _ = rand.Read(key) // never fails
	return key
}

// ErrNoKey says that there is no key to sign with.
var ErrNoKey = errors.New("there is no key for tokens")

// markLength is 80 bits of base 32. Guessing one takes 2^79 mails on average, and
// longer ones would make address and subject unreadable.
const markLength = 16

var letters = base32.StdEncoding.WithPadding(base32.NoPadding)

// Write returns the token as it stands in subject and address, such as
// p12.2.abcdefghij234567: letters, digits and full stops alone, which survive in
// the local part of an address whatever its case becomes on the way.
func (k Keys) Write(t Token, q Question) (string, error) {
	if len(k) == 0 {
		return "", ErrNoKey
	}
	return fmt.Sprintf("%s%d.%d.%s", t.Kind, t.Number, t.Form, mark(k[0], t, q)), nil
}

// Good reports whether a token that was read is one of ours, for that question.
func (k Keys) Good(t Token, q Question, written string) bool {
	good := 0
	for _, key := range k {
		good |= subtle.ConstantTimeCompare([]byte(mark(key, t, q)), []byte(strings.ToLower(written)))
	}
	return good == 1
}

// mark is HMAC-SHA-256 (RFC 2104) cut to its first 80 bits. The parts are told
// apart by a zero byte, which no client's code holds.
func mark(key []byte, t Token, q Question) string {
	mac := hmac.New(sha256.New, key)
	fmt.Fprintf(mac, "%s\x00%s\x00%d\x00%d\x00%s", signedAs[t.Kind], q.Client, t.Number, t.Form, q.Until)
	return strings.ToLower(letters.EncodeToString(mac.Sum(nil)))[:markLength]
}

var tokenPattern = regexp.MustCompile(`(?i)\b([pcdr])([1-9][0-9]{0,8})\.([1-9][0-9]{0,7})\.([a-z2-7]{16})\b`)

// Written is a token as it was found, not yet checked.
type Written struct {
	Token
	Mark string
}

// findTokens returns the tokens of a text, each once.
func findTokens(text string) []Written {
	var out []Written
	seen := map[Written]bool{}
	for _, m := range tokenPattern.FindAllStringSubmatch(text, 10) {
		number, err := strconv.ParseInt(m[2], 10, 64)
		form, err2 := strconv.Atoi(m[3])
		if err != nil || err2 != nil {
			continue
		}
		w := Written{Token{Kind(strings.ToLower(m[1])), number, form}, strings.ToLower(m[4])}
		if !seen[w] {
			seen[w] = true
			out = append(out, w)
		}
	}
	return out
}

// answerDays is the time after a form went out in which an answer by mail is taken without a person.
const answerDays = 90

// QuestionOf returns the question of a form that went to a client, dated asOf.
func QuestionOf(client string, asOf programme.Date) Question {
	return Question{Client: client, Until: asOf.Add(answerDays)}
}
