package setup

import (
	"strings"
	"unicode"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/draft"
)

// FirstAnswers are the answers to the few questions with which a client begins.
type FirstAnswers struct {
	Name       string
	Customer   programme.Contact // who says yes there
	Trade      draft.Trade
	Place      programme.Place
	Setting    programme.Setting
	Duty       programme.Duty
	Washing    string // code of a laundering regime
	People     int
	Pool       int // whole kits that lie ready for people who may come
	ShowPrices bool
}

// Intake returns the intake sheet of the answers, with one role for all.
func (a *FirstAnswers) Intake() *draft.Intake {
	sheet := BlankIntake()
	sheet.Code, sheet.Name, sheet.Customer = CodeOf(a.Name), a.Name, a.Customer
	sheet.Trade = a.Trade
	sheet.Work.Place, sheet.Work.Setting, sheet.Work.Duty = a.Place, a.Setting, a.Duty
	sheet.Laundering.Regime = a.Washing
	sheet.ShowPrices, sheet.Pool = a.ShowPrices, a.Pool
	sheet.Roles = []draft.Role{{Code: "staff", Name: "Staff", People: a.People}}
	return sheet
}

// CodeOf returns a short name for a client: the letters and digits of its name, of a long
// one the words that fit.
func CodeOf(name string) string {
	const longest = 16
	var b strings.Builder
	for _, r := range strings.ToLower(name) {
		if b.Len() >= longest {
			if i := strings.LastIndexByte(b.String(), '-'); i > 0 && (unicode.IsLetter(r) || unicode.IsDigit(r)) {
				return b.String()[:i]
			}
			break
		}
		if unicode.IsLetter(r) || unicode.IsDigit(r) {
			b.WriteRune(r)
		} else if s := b.String(); s != "" && !strings.HasSuffix(s, "-") {
			b.WriteByte('-')
		}
	}
	if code := strings.TrimRight(b.String(), "-"); code != "" {
		return code
	}
	return "client"
}
