package setup

import (
	"fmt"
	"strconv"
	"strings"
	"time"

	"github.com/robfig/cron/v3"
	"go.yaml.in/yaml/v3"

	"github.com/kitmuster/kitmuster/programme"
)

// freshClient returns what a programme is where its file says nothing.
func freshClient() programme.Client {
	return programme.Client{
		Work: programme.Work{Place: programme.Fixed, Setting: programme.Indoor, Duty: programme.Medium,
			DaysPerWeek: 5},
		Laundering: programme.Laundering{Regime: "home-low"},
		Intake:     programme.Intake{Strength: 1},

		ForgetAfterDays: 180, ShowPrices: true,
	}
}

func clientFields() []field[programme.Client] {
	type C = programme.Client
	return []field[C]{
		code("code", "short name; the file is named after it", func(c *C) *string { return &c.Code }).needed(),
		text("name", "of the business", func(c *C) *string { return &c.Name }).needed(),
		text("trade", "what the business does", func(c *C) *string { return &c.Trade }),
		group("customer", "who says yes to a reorder",
			contactFields[programme.Contact](func(c *programme.Contact) *programme.Contact { return c }),
			func(c *C) *programme.Contact { return &c.Customer }).needed(),
		code("manager", "code of the person in your shop who forwards the mail; empty = the owner",
			func(c *C) *string { return &c.Manager }),
		group("work", "", workFields(), func(c *C) *programme.Work { return &c.Work }),
		group("laundering", "how pieces are washed", append(launderingFields(), formerLaunderings()),
			func(c *C) *programme.Laundering { return &c.Laundering }),
		group("intake", "new starters", intakeFields(), func(c *C) *programme.Intake { return &c.Intake }),
		group("leavers", "", leaverFields(), func(c *C) *programme.Leavers { return &c.Leavers }),
		whole("cover_weeks", "the longest that one order is to last; left out = as long as costs least", 0, 104, 0,
			func(c *C) *int { return &c.CoverWeeks }),
		number("fill_rate", "least share of needs met from stock until an order of the next round would arrive; left out = as the costs decide",
			0, 0.999, 0, func(c *C) *float64 {
				return &c.FillRate
			}),
		word("starters", "wait: their kits are ordered when they come; left out = as the costs decide, or a pool",
			[]programme.Starters{programme.StartersWait}, programme.StartersByCost,
			func(c *C) *programme.Starters { return &c.Starters }),
		value("pool", "whole kits kept for starters, such as 2 kits", func(c *C) *int { return &c.Pool }, parseKits,
			formatKits, same(0)),
		value("pool_belongs_to", "whose money lies in pieces that nobody has been given yet: customer (they lie in the customer's cupboard) or shop (you keep them; they are paid when issued)",
			func(c *C) *programme.Owner {
				return &c.PoolBelongsTo
			}, parseOwner, formatOwner, same(programme.OwnedByCustomer)),
		value("smallest_order", "what an order must come to unless somebody is short of a piece today: 10 pieces, or an amount such as 150.00",
			func(c *C) *programme.SmallestOrder {
				return &c.SmallestOrder
			}, parseSmallest, formatSmallest, same(programme.SmallestOrder{})),
		value("records_start", "first day from which every movement is in the ledger",
			func(c *C) *programme.Date { return &c.RecordsStart }, parseRecordsStart, programme.Date.String,
			same(programme.Date(0))),
		value("ends", "last day of what was agreed: orders last no longer, and from the day after nothing is forecast, asked or proposed",
			func(c *C) *programme.Date { return &c.Ends }, programme.ParseDate, programme.Date.String,
			same(programme.Date(0))),
		number("reissue_life_left", "returned pieces go out again while this share of life is left; 0 = never", 0, 1, 0,
			func(c *C) *float64 { return &c.ReissueLifeLeft }),
		yesNo("old_pieces_kept", "a piece handed out beyond the kit is one more; otherwise one in place of another that ended", func(c *C) *bool {
			return &c.OldPiecesKept
		}),
		whole("count_every_weeks", "how often part of what people hold is counted, by a form; 0 = never", 0, 104, 0,
			func(c *C) *int { return &c.CountEveryWeeks }),
		yesNo("counts_by_themselves", "count forms go to the customer by themselves; otherwise they are drafts for you to send", func(c *C) *bool {
			return &c.CountsByThemselves
		}),
		word("day_sheet", "weekly: a sheet to write down what happens goes out with each week's first round, to the addresses of by_mail: day_sheets, else to your person who looks after this client",
			[]programme.DaySheets{programme.WeeklyDaySheets}, programme.NoDaySheets, func(c *C) *programme.DaySheets {
				return &c.DaySheets
			}),
		group("by_mail", "whose mails are taken for what, besides those of your own people; a list left out = the customer, the approver and the contacts",
			byMailFields(), func(c *C) *programme.ByMail {
				return &c.ByMail
			}),
		whole("forget_after_days", "names of leavers are kept so long", 0, 3650, 180,
			func(c *C) *int { return &c.ForgetAfterDays }),
		yesUnless("show_prices", "prices in the customer's mails and order forms, where every piece has one; kitmuster check names what has none",
			true, func(c *C) *bool {
				return &c.ShowPrices
			}),
		rows("prices", "what the customer pays for a decorated piece; of several with days the newest that has begun, by the day of the yes",
			priceOfFields(), programme.Price{}, func(c *C) *[]programme.Price {
				return &c.Prices
			}),
		text("order_number", "the customer's own, for every order", func(c *C) *string { return &c.OrderNumber }),
		group("approver", "a second person whose yes the customer needs", maybeContactFields(),
			func(c *C) *programme.Contact { return &c.Approver }),
		money("budget", "what one order may come to", func(c *C) *programme.Money { return &c.Budget }),
		yesNo("tax_free", "this customer pays no tax on sales", func(c *C) *bool { return &c.TaxFree }),
		text("address", "where parcels go, in one line", func(c *C) *string { return &c.Address }),
		rows("sites", "places with an address of their own: each site of the roster gets a parcel and a packing list",
			siteFields(), programme.Site{}, func(c *C) *[]programme.Site { return &c.Sites }),
		rows("contacts", "further people of the customer, each for one site or for all", siteContactFields(),
			programme.SiteContact{}, func(c *C) *[]programme.SiteContact { return &c.Contacts }),
		list("roles", "kinds of job, each with its kit", roleFields(), programme.Role{},
			func(c *C) *[]programme.Role { return &c.Roles }).needed(),
		names("headings", "this client's own column headings, each with the column it stands for, and words: {Hired: start_date, \"colour:navy blue\": navy}",
			func(c *C) *map[string]string { return &c.Headings }, readHeading, scalar),
		yesNo("known", "take all figures as certain: nothing is learnt from records",
			func(c *C) *bool { return &c.Known }),
		value("schedule", "a round of its own besides the shop's (cron: minute hour day month weekday)",
			func(c *C) *string { return &c.Schedule }, parseSchedule, asIs, same("")),
		whole("delivery_days", "where it differs from the shop's", 0, 60, 0,
			func(c *C) *int { return &c.DeliveryDays }),
		text("note", "for the shop alone", func(c *C) *string { return &c.Note }),
	}
}

// lastYear is the last that anybody means who writes down a day of this shop.
const lastYear = 2099

// parseRecordsStart reads a day on which records can begin; 9999-12-31 says
// "never" to many programs, and here would leave out every record.
func parseRecordsStart(s string) (programme.Date, error) {
	d, err := programme.ParseDate(s)
	if err == nil && (d.Time().Year() > lastYear || d.Time().Year() < 1980) {
		err = fmt.Errorf("read %s, on which no records begin; write the first day that the ledger is complete from, or leave it out", d)
	}
	return d, err
}

// parseKits reads a number of kits, with or without the word.
func parseKits(s string) (int, error) {
	n, err := strconv.Atoi(strings.TrimSpace(strings.TrimSuffix(strings.TrimSuffix(strings.TrimSpace(s), "s"), "kit")))
	if err != nil || n < 0 || n > 1000 {
		return 0, fmt.Errorf("read %q; write a number of whole kits, such as 2 kits", short(s))
	}
	return n, nil
}

func formatKits(n int) string { return programme.NumberOf(n, "kit") }

func parseOwner(s string) (programme.Owner, error) {
	switch s {
	case "customer":
		return programme.OwnedByCustomer, nil
	case string(programme.OwnedByShop):
		return programme.OwnedByShop, nil
	}
	return "", fmt.Errorf("read %q; write customer or shop", short(s))
}

func formatOwner(o programme.Owner) string {
	if o == programme.OwnedByShop {
		return string(o)
	}
	return "customer"
}

// parseSmallest reads a number of pieces, or an amount of money.
func parseSmallest(s string) (programme.SmallestOrder, error) {
	s = strings.TrimSpace(s)
	if number, ok := strings.CutSuffix(strings.TrimSuffix(s, "s"), "piece"); ok {
		if n, err := strconv.Atoi(strings.TrimSpace(number)); err == nil && n >= 0 && n <= 100000 {
			return programme.SmallestOrder{Pieces: n}, nil
		}
	} else if m, err := programme.ParseMoney(s); err == nil && m >= 0 {
		return programme.SmallestOrder{Price: m}, nil
	}
	return programme.SmallestOrder{}, fmt.Errorf("read %q; write a number of pieces, such as 10 pieces, or an amount, such as 150.00", short(s))
}

func formatSmallest(x programme.SmallestOrder) string {
	if x.Pieces > 0 {
		return programme.NumberOf(x.Pieces, "piece")
	}
	return x.Price.Decimal()
}

// parseSchedule reads five fields of cron; the zone is always the shop's.
func parseSchedule(s string) (string, error) {
	s = strings.TrimSpace(s)
	spec, err := cron.ParseStandard(s)
	if err != nil || strings.Contains(s, "=") || strings.HasPrefix(s, "@") {
		return "", fmt.Errorf("read %q; write minute, hour, day, month and weekday, such as 30 6 * * 1 for Mondays at 6:30", short(s))
	}
	if spec.Next(programme.NewDate(2026, 1, 1).Time()).IsZero() {
		return "", fmt.Errorf("read %q, which never comes: no month has that day", short(s))
	}
	return s, nil
}

func workFields() []field[programme.Work] {
	type W = programme.Work
	return []field[W]{
		word("place", "fixed (one place) or mobile (drives to its customers)",
			[]programme.Place{programme.Fixed, programme.Mobile}, programme.Fixed,
			func(w *W) *programme.Place { return &w.Place }),
		word("setting", "indoor or outdoor", []programme.Setting{programme.Indoor, programme.Outdoor}, programme.Indoor,
			func(w *W) *programme.Setting { return &w.Setting }),
		word("duty", "light, medium, heavy or dirty", []programme.Duty{programme.Light, programme.Medium,
			programme.Heavy, programme.Dirty}, programme.Medium, func(w *W) *programme.Duty { return &w.Duty }),
		yesNo("strong_sun", "", func(w *W) *bool { return &w.StrongSun }),
		number("days_a_week", "", 0.5, 7, 5, func(w *W) *float64 { return &w.DaysPerWeek }),
		monthsField("wear_by_month",
			"how much harder than usual pieces are worn and washed, by month: {july: 1.4, january: 0.7}",
			func(w *W) *[12]float64 {
				return &w.WearByMonth
			}),
		yesNo("food", "staff handle food", func(w *W) *bool { return &w.Food }),
	}
}

func launderingFields() []field[programme.Laundering] {
	type L = programme.Laundering
	return []field[L]{
		code("regime", "home-cold-line, home-low, home-hot, on-premises or industrial",
			func(l *L) *string { return &l.Regime }),
		yesNo("chlorine", "", func(l *L) *bool { return &l.Chlorine }),
		yesNo("softener", "", func(l *L) *bool { return &l.Softener }),
		yesNo("no_pre_press", "pieces were pressed without driving out moisture first",
			func(l *L) *bool { return &l.NoPrePress }),
	}
}

func formerLaunderingFields() []field[programme.FormerLaundering] {
	type F = programme.FormerLaundering
	return []field[F]{
		value("until", "last day", func(f *F) *programme.Date { return &f.Until }, parseKitDay, programme.Date.String,
			same(programme.Date(0))).needed(),
		code("regime", "", func(f *F) *string { return &f.Regime }).needed(),
		yesNo("chlorine", "", func(f *F) *bool { return &f.Chlorine }),
		yesNo("softener", "", func(f *F) *bool { return &f.Softener }),
	}
}

// formerLaunderings is apart from launderingFields, which an intake sheet has, too.
func formerLaunderings() field[programme.Laundering] {
	return rows("before",
		"how they were washed before, the oldest first: - {until: 2026-09-30, regime: home-low}; left out = always as now",
		formerLaunderingFields(), programme.FormerLaundering{},
		func(l *programme.Laundering) *[]programme.FormerLaundering { return &l.Before })
}

// FormerLaundering writes an earlier way of washing as a programme has it: before: [{until: 2026-09-30, ...}].
func FormerLaundering(f programme.FormerLaundering) string {
	return "before: [" + inFlow(formerLaunderingFields(), &f) + "]"
}

func intakeFields() []field[programme.Intake] {
	type I = programme.Intake
	return []field[I]{
		statedRate("a_year", "new starters a year; 0 = nobody, left out = as many as leave", 100000,
			func(i *I) *float64 { return &i.PerYear }, func(i *I) *bool { return &i.Nobody }),
		names("a_year_by_role", "in place of a_year", func(i *I) *map[string]float64 { return &i.PerRole }, readRate,
			func(v float64) *yaml.Node { return scalar(formatNumber(v)) }),
		monthsField("busy_months", "how many times the usual intake, by month: {april: 2}",
			func(i *I) *[12]float64 { return &i.Months }),
		number("strength_years", "years of records that this statement is worth", 0.01, 100, 1,
			func(i *I) *float64 { return &i.Strength }),
	}
}

// statedRate builds a field for a number a year where a stated 0 differs from a key that is
// left out: a stated 0 sets none to true.
func statedRate[T any](key, help string, most float64, at func(*T) *float64, none func(*T) *bool) field[T] {
	f := number(key, help, 0, most, 0, at)
	read, write := f.read, f.write
	f.read = func(r *reader, n *yaml.Node, path string, into *T) {
		before := len(r.problems)
		read(r, n, path, into)
		*none(into) = *at(into) == 0 && len(r.problems) == before
	}
	f.write = func(of *T, all bool) *yaml.Node {
		if !*none(of) && *at(of) == 0 && all {
			return scalar("")
		}
		return write(of, all || *none(of))
	}
	return f
}

func readRate(r *reader, n *yaml.Node, path string) (float64, bool) {
	v, err := parseNumber(n.Value, 0, 100000)
	if n.Kind != yaml.ScalarNode || err != nil {
		r.wrong(n, path, "read %s; write new starters a year, such as 3", describe(n))
		return 0, false
	}
	return v, true
}

func readHeading(r *reader, n *yaml.Node, path string) (string, bool) {
	v, err := parseText(n.Value)
	if n.Kind != yaml.ScalarNode || err != nil {
		r.wrong(n, path, "read %s; write one of our column names or words, such as staff_id", describe(n))
		return "", false
	}
	return v, true
}

// monthsField reads months as names with factors, {april: 2, december: 1.5}; those not named have 1.
func monthsField[T any](key, help string, at func(*T) *[12]float64) field[T] {
	return field[T]{
		key: key, help: help,
		read: func(r *reader, n *yaml.Node, path string, to *T) {
			into := at(to)
			if n.Kind != yaml.MappingNode {
				r.wrong(n, path, "read %s; write months with factors, such as {april: 2}", describe(n))
				return
			}
			if len(n.Content) == 0 { // no month is named, so nothing is said of any
				return
			}
			for i := range into {
				into[i] = 1
			}
			for k, v := range pairs(n) {
				m, err := parseMonth(k.Value)
				if err != nil {
					r.wrong(k, path, "%s", err)
					continue
				}
				if into[m-1], err = parseNumber(v.Value, 0, 12); err != nil {
					r.wrong(v, join(path, k.Value), "%s", err)
				}
			}
		},
		write: func(of *T, all bool) *yaml.Node {
			from := *at(of)
			if from == [12]float64{} && !all {
				return nil
			}
			n := &yaml.Node{Kind: yaml.MappingNode, Style: yaml.FlowStyle}
			for i, v := range from {
				if v != 1 && from != [12]float64{} {
					n.Content = append(n.Content, scalar(strings.ToLower(time.Month(i+1).String())),
						scalar(formatNumber(v)))
				}
			}
			return n
		},
	}
}

func parseMonth(s string) (time.Month, error) {
	var all []string
	for m := time.January; m <= time.December; m++ {
		if strings.EqualFold(m.String(), s) {
			return m, nil
		}
		all = append(all, strings.ToLower(m.String()))
	}
	if near, ok := nearest(s, all); ok {
		return 0, fmt.Errorf("read %q; did you mean %s?", short(s), near)
	}
	return 0, fmt.Errorf("read %q; write a month's name, such as april", short(s))
}

func leaverFields() []field[programme.Leavers] {
	type L = programme.Leavers
	return []field[L]{
		statedRate("a_year", "share of staff leaving a year, such as 0.45; 0 = nobody, left out = as the industry", 20,
			func(l *L) *float64 { return &l.PerYear }, func(l *L) *bool { return &l.Nobody }),
		number("strength_person_years", "person-years of records that this statement is worth", 0, 100000, 0,
			func(l *L) *float64 { return &l.Strength }),
	}
}

func priceOfFields() []field[programme.Price] {
	type P = programme.Price
	return []field[P]{
		code("garment", "", func(p *P) *string { return &p.Garment }).needed(),
		text("size", "left out = all sizes", func(p *P) *string { return &p.Size }),
		money("price", "", func(p *P) *programme.Money { return &p.Price }),
		value("from", "first day of orders at this price; left out = always has been",
			func(p *P) *programme.Date { return &p.From }, parseKitDay, programme.Date.String, same(programme.Date(0))),
	}
}

func byMailFields() []field[programme.ByMail] {
	type M = programme.ByMail
	return []field[M]{
		texts("answers", "yes, not now and no to a proposal: [name@client.example]", ParseEmail,
			func(m *M) *[]string { return &m.Answers }),
		texts("changes", "a yes with other numbers; left out = as answers", ParseEmail,
			func(m *M) *[]string { return &m.Changes }),
		texts("counts", "count forms that come back", ParseEmail, func(m *M) *[]string { return &m.Counts }),
		texts("rosters", "lists of staff", ParseEmail, func(m *M) *[]string { return &m.Rosters }),
		texts("day_sheets", "day sheets that come back; the weekly one goes to them", ParseEmail,
			func(m *M) *[]string { return &m.DaySheets }),
	}
}

// maybeContactFields are the keys of a contact that there need not be.
func maybeContactFields() []field[programme.Contact] {
	return []field[programme.Contact]{
		text("name", "", func(c *programme.Contact) *string { return &c.Name }),
		email("email", "", func(c *programme.Contact) *string { return &c.Email }),
	}
}

func siteFields() []field[programme.Site] {
	type S = programme.Site
	return []field[S]{
		text("name", "as the roster names it", func(s *S) *string { return &s.Name }).needed(),
		text("address", "in one line", func(s *S) *string { return &s.Address }).needed(),
	}
}

func siteContactFields() []field[programme.SiteContact] {
	type S = programme.SiteContact
	return append(contactFields[S](func(s *S) *programme.Contact { return &s.Contact }),
		text("site", "as the roster names it; left out = all sites", func(s *S) *string { return &s.Site }))
}

func roleFields() []field[programme.Role] {
	type R = programme.Role
	return []field[R]{
		code("code", "as the roster names it", func(x *R) *string { return &x.Code }).needed(),
		text("name", "", func(x *R) *string { return &x.Name }),
		list("kit", "what each holder of the role is issued", kitFields(), programme.KitLine{Each: 1},
			func(x *R) *[]programme.KitLine { return &x.Kit }).needed(),
	}
}

func kitFields() []field[programme.KitLine] {
	type K = programme.KitLine
	return []field[K]{
		code("garment", "", func(k *K) *string { return &k.Garment }).needed(),
		text("colour", "", func(k *K) *string { return &k.Colour }).needed(),
		whole("each", "pieces", 1, 100, 1, func(k *K) *int { return &k.Each }),
		whole("first", "pieces given on the first day, the rest later; left out = all at once", 1, 100, 0,
			func(k *K) *int { return &k.First }).unsaid(),
		whole("rest_after_weeks", "when the rest follows, from the first day on, to who is still there", 1, 104, 0,
			func(k *K) *int { return &k.RestAfterWeeks }).unsaid(),
		number("wears_a_week", "of all pieces of it together", 0.01, 100, 0,
			func(k *K) *float64 { return &k.WearsAWeek }).needed(),
		rows("decorations", "which artwork at which place", decorationOfFields(), programme.Decoration{},
			func(k *K) *[]programme.Decoration { return &k.Decorations }),
		value("from", "first day of the line; left out = it always was part of the kit",
			func(k *K) *programme.Date { return &k.From }, parseKitDay, programme.Date.String, same(programme.Date(0))),
		value("until", "last day of the line; left out = until further notice, or until the one in its place begins",
			func(k *K) *programme.Date { return &k.Until }, parseKitDay, programme.Date.String,
			same(programme.Date(0))),
		value("instead_of", "the line whose place it takes, as garment/colour, such as apron/burgundy",
			func(k *K) *programme.Former { return &k.InsteadOf }, parseFormer, formatFormer, same(programme.Former{})),
		changeField(),
		value("cut_of", "the line of the kit that this one is another cut of, as garment/colour, such as polo/navy: it is for those who have a size in its garment's size_family, the other for the rest",
			func(k *K) *programme.Former {
				return &k.CutOf
			}, parseFormer, formatFormer, same(programme.Former{})),
		joined(value("months", "when it is worn, such as april-september or may-june, december; put away otherwise; left out = all the year",
			func(k *K) *programme.Months {
				return &k.Months
			}, parseMonths, formatMonths, programme.Months.All)),
	}
}

func decorationOfFields() []field[programme.Decoration] {
	type D = programme.Decoration
	return []field[D]{
		code("artwork", "", func(d *D) *string { return &d.Artwork }).needed(),
		code("place", "", func(d *D) *string { return &d.Place }).needed(),
	}
}
