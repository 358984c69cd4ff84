package main

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"os"
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/draft"
	"github.com/kitmuster/kitmuster/programme/setup"
)

// question is one setting that init asks for: by a flag, or by a line on a terminal.
type question struct {
	flag, asks string
	value      *string
	usual      func() string // what an empty answer means; nil = it must be answered
	check      func(string) error
	when       func() bool // asked only then; nil = always
}

// interview holds the answers of init.
type interview struct {
	name, currency, zone, units, dates, owner, email string
	orderCost, unused                                string
	client                                           struct {
		name, contact, email, trade, place, setting, duty, washing, people, pool, showPrices string
	}
}

func (in *interview) questions() []question {
	american := func() bool { return in.currency == "USD" }
	client := func() bool { return in.client.name != "" }
	c := &in.client
	return []question{
		{"name", "Name of your shop", &in.name, nil, notEmpty, nil},
		{"owner", "Your name", &in.owner, nil, notEmpty, nil},
		{"email", "Your mail address (the weekly round goes there)", &in.email, nil, checked(setup.ParseEmail), nil},
		{"currency", "Currency, three letters", &in.currency, same("USD"), checked(setup.ParseCurrency), nil},
		{"time-zone", "Time zone", &in.zone, localZone, checked(setup.ParseZone), nil},
		{"units", "Lengths in inches, millimetres or centimetres", &in.units, either(american, "inches", "millimetres"),
			oneOf("inches", "millimetres", "centimetres"), nil},
		{"dates", "Dates day-first, month-first or iso", &in.dates, either(american, "month-first", "day-first"),
			oneOf("day-first", "month-first", "iso"), nil},
		{"order-cost", "What one order costs you in time, calls and paperwork, whatever is in it", &in.orderCost,
			same(programme.UsualOrdering.Decimal()), amount, nil},
		{"unused",
			"Of 100 decorated pieces that lie for a year, how many are never used (a client goes, a logo changes)",
			&in.unused, same("10"), percent, nil},
		{"client", "Name of a first client (empty = later)", &c.name, same(""), nil, nil},
		{"client-contact", "Who says yes there", &c.contact, nil, notEmpty, client},
		{"client-email", "Their mail address", &c.email, nil, checked(setup.ParseEmail), client},
		{"trade", "What they do: food, retail, hotel, care, school, office, cleaning, grounds, building, garage, delivery, workshop, other",
			&c.trade, same("other"), oneOf(words(draft.Trades())...), client},
		{"place", "One fixed place, or mobile (drives to customers)", &c.place, same("fixed"),
			oneOf("fixed", "mobile"), client},
		{"setting", "Work indoor or outdoor", &c.setting, same("indoor"), oneOf("indoor", "outdoor"), client},
		{"duty", "How hard on clothing: light, medium, heavy, dirty", &c.duty, same("medium"),
			oneOf("light", "medium", "heavy", "dirty"), client},
		{"washing", "How washed: home-cold-line, home-low, home-hot, on-premises, industrial", &c.washing,
			same("home-low"), oneOf("home-cold-line", "home-low", "home-hot", "on-premises", "industrial"), client},
		{"people", "How many people", &c.people, nil, peopleCount, client},
		{"pool", "Whole kits that lie ready for starters nobody knows yet (0 = the costs decide; below 20 people kits are ordered when somebody comes)",
			&c.pool, same("0"), kits, client},
		{"show-prices", "Prices in their mails and order forms, once each piece has one: yes or no", &c.showPrices,
			same("yes"), oneOf("yes", "no"), client},
	}
}

func (in *interview) register(c *cobra.Command) {
	for _, q := range in.questions() {
		c.Flags().StringVar(q.value, q.flag, "", q.asks)
	}
}

// asker gets answers: from flags and, where in is not nil, from the terminal.
type asker struct {
	in    *bufio.Reader
	out   io.Writer
	given func(flag string) bool
}

// run gets every answer. Without a terminal, all that is missing or wrong is one error.
func (in *interview) run(a *asker) error {
	var wrong []error
	for _, q := range in.questions() {
		if q.when != nil && !q.when() {
			continue
		}
		if err := a.answer(&q); errors.Is(err, io.EOF) {
			return fmt.Errorf("the questions ended at %q; nothing was written", q.asks)
		} else if err != nil {
			wrong = append(wrong, err)
		}
	}
	if len(wrong) > 0 {
		return usageError{errors.Join(wrong...)}
	}
	return nil
}

func (a *asker) answer(q *question) error {
	if a.given(q.flag) {
		if err := q.take(*q.value); err != nil {
			return fmt.Errorf("--%s: %w", q.flag, err)
		}
		return nil
	}
	if a.in == nil {
		if q.usual == nil {
			return fmt.Errorf("--%s is missing: %s", q.flag, q.asks)
		}
		*q.value = q.usual()
		return nil
	}
	for {
		fmt.Fprint(a.out, q.prompt())
		line, err := a.in.ReadString('\n')
		if err != nil && line == "" {
			return io.EOF
		}
		line = strings.TrimSpace(line)
		if line == "" && q.usual != nil {
			line = q.usual()
		}
		if err := q.take(line); err != nil {
			fmt.Fprintf(a.out, "  %v\n", err)
			continue
		}
		return nil
	}
}

func (q *question) prompt() string {
	if q.usual != nil && q.usual() != "" {
		return fmt.Sprintf("%s [%s]: ", q.asks, q.usual())
	}
	return q.asks + ": "
}

// shortUnits maps abbreviations of units to their names.
var shortUnits = map[string]string{"in": "inches", "inch": "inches", "mm": "millimetres", "cm": "centimetres"}

func (q *question) take(answer string) error {
	if full, ok := shortUnits[strings.ToLower(answer)]; ok && q.flag == "units" {
		answer = full
	}
	if q.check != nil {
		if err := q.check(answer); err != nil {
			return err
		}
	}
	*q.value = answer
	return nil
}

// start returns the shop as answered.
func (in *interview) start() setup.Start {
	ordering, _ := programme.ParseMoney(in.orderCost) // both were checked when they were answered
	unused, _ := strconv.Atoi(in.unused)
	return setup.Start{
		Ordering: ordering, Unused: float64(unused) / 100,
		Name: in.name, Currency: in.currency, TimeZone: in.zone, Units: programme.Units(in.units),
		DateStyle: programme.DateStyle(in.dates),
		Owner:     programme.Contact{Name: in.owner, Email: in.email},
	}
}

// intake returns the first client's sheet; nil when there is none yet.
func (in *interview) intake() *draft.Intake {
	c := &in.client
	if c.name == "" {
		return nil
	}
	first := setup.FirstAnswers{
		Name: c.name, Customer: programme.Contact{Name: c.contact, Email: c.email}, Trade: draft.Trade(c.trade),
		Place: programme.Place(c.place), Setting: programme.Setting(c.setting),
		Duty: programme.Duty(c.duty), Washing: c.washing, ShowPrices: c.showPrices != "no",
	}
	first.Pool, _ = strconv.Atoi(c.pool) // checked when it was answered, as the people were
	first.People, _ = strconv.Atoi(c.people)
	return first.Intake()
}

func same(s string) func() string { return func() string { return s } }

func either(is func() bool, yes, no string) func() string {
	return func() string {
		if is() {
			return yes
		}
		return no
	}
}

func amount(s string) error {
	if m, err := programme.ParseMoney(s); err != nil || m < 0 {
		return fmt.Errorf("read %q; write an amount such as 25 or 12.50", s)
	}
	return nil
}

func kits(s string) error {
	if n, err := strconv.Atoi(s); err != nil || n < 0 || n > 1000 {
		return fmt.Errorf("read %q; write a number of whole kits, such as 2", s)
	}
	return nil
}

func percent(s string) error {
	if n, err := strconv.Atoi(s); err != nil || n < 0 || n > 100 {
		return fmt.Errorf("read %q; write a whole number from 0 to 100", s)
	}
	return nil
}

func notEmpty(s string) error {
	if strings.TrimSpace(s) == "" {
		return errors.New("this must be answered")
	}
	return nil
}

func checked(parse func(string) (string, error)) func(string) error {
	return func(s string) error { _, err := parse(s); return err }
}

func oneOf(list ...string) func(string) error {
	return func(s string) error {
		if slices.Contains(list, s) {
			return nil
		}
		return fmt.Errorf("read %q; write one of: %s", s, strings.Join(list, ", "))
	}
}

func words[W ~string](list []W) []string {
	out := make([]string, len(list))
	for i, w := range list {
		out[i] = string(w)
	}
	return out
}

func peopleCount(s string) error {
	if n, err := strconv.Atoi(s); err != nil || n < 1 || n > 100_000 {
		return fmt.Errorf("read %q; write a whole number from 1 to 100000", s)
	}
	return nil
}

// localZone returns this machine's IANA zone: from TZ, or from where /etc/localtime
// points; UTC when neither tells.
func localZone() string {
	target, _ := os.Readlink("/etc/localtime")
	_, linked, _ := strings.Cut(target, "zoneinfo/")
	for _, name := range []string{os.Getenv("TZ"), linked} {
		if _, err := setup.ParseZone(name); err == nil {
			return name
		}
	}
	return "UTC"
}
