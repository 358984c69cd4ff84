package table

import (
	"strings"

	"github.com/kitmuster/kitmuster/programme/match"
)

// months and weekdays are their names in the languages that lists come in: English, German
// as in Germany and Austria, French, Spanish, Italian, Dutch and Portuguese, without their
// marks and in small letters (Unicode CLDR 48.2, cldr-dates-full, wide and abbreviated
// formats; maerz and jaenner, typed without umlauts, and mrz of spreadsheets are common practice, no
// source). What is shorter counts where it begins names of one month alone.
var (
	months = [12][]string{
		{"january", "januar", "janner", "jaenner", "janvier", "enero", "gennaio", "januari", "janeiro"},
		{"february", "februar", "feber", "fevrier", "febrero", "febbraio", "februari", "fevereiro"},
		{"march", "marz", "maerz", "mars", "marzo", "maart", "mrt", "mrz", "marco"},
		{"april", "avril", "abril", "aprile"},
		{"may", "mai", "mayo", "maggio", "mei", "maio"},
		{"june", "juni", "juin", "junio", "giugno", "junho"},
		{"july", "juli", "juillet", "julio", "luglio", "julho"},
		{"august", "aout", "agosto", "augustus"},
		{"september", "septembre", "septiembre", "settembre", "setembro"},
		{"october", "oktober", "octobre", "octubre", "ottobre", "outubro"},
		{"november", "novembre", "noviembre", "novembro"},
		{"december", "dezember", "decembre", "diciembre", "dicembre", "dezembro"},
	}
	weekdays = strings.Fields(`sunday monday tuesday wednesday thursday friday saturday
		sonntag montag dienstag mittwoch donnerstag freitag samstag sonnabend
		dimanche lundi mardi mercredi jeudi vendredi samedi domingo lunes martes miercoles jueves viernes sabado
		domenica lunedi martedi mercoledi giovedi venerdi sabato
		zondag maandag dinsdag woensdag donderdag vrijdag zaterdag segunda terca quarta quinta sexta`)

	// ordinals stand behind a day, particles before a month, a year or behind a weekday.
	ordinals  = []string{"st", "nd", "rd", "th", "er", "º"}
	particles = []string{"de", "del", "di", "den", "le", "el", "il", "feira"}
)

// monthNamed knows a month by its name or the first three letters of it or more.
func monthNamed(w string) (month int, ok bool) {
	w = match.Bare(w)
	if len(w) < 3 {
		return 0, false
	}
	for i, names := range months {
		for _, name := range names {
			if !strings.HasPrefix(name, w) {
				continue
			}
			if ok && month != i+1 {
				return 0, false
			}
			month, ok = i+1, true
		}
	}
	return month, ok
}

// isWeekday knows a day by its name or the first two letters of it or more.
func isWeekday(w string) bool {
	w = match.Bare(w)
	if len(w) < 2 {
		return false
	}
	for _, name := range weekdays {
		if strings.HasPrefix(name, w) {
			return true
		}
	}
	return false
}
