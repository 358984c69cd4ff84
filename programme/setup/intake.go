package setup

import (
	"fmt"

	"go.yaml.in/yaml/v3"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/draft"
)

// ReadIntake reads an intake sheet, the answers from which a programme is
// drafted; file names it in errors, which are of type Problems.
func ReadIntake(file string, text []byte, shop *programme.Shop) (*draft.Intake, error) {
	return read(file, text, draftFields(), freshIntake(),
		func(r *reader, root *yaml.Node, in *draft.Intake) { checkIntake(r, root, in, shop) })
}

// WriteIntake writes an intake sheet, every question with its explanation.
func WriteIntake(in *draft.Intake) []byte {
	return write("Intake sheet: answer for one business client, then run 'kitmuster programme draft FILE'.",
		encode(draftFields(), in, true))
}

// BlankIntake returns a sheet to fill in: an invented small crew as an example.
func BlankIntake() *draft.Intake {
	in := freshIntake()
	in.Code, in.Name = "client", "The client's name"
	in.Customer = programme.Contact{Name: "Who says yes", Email: "name@client.example"}
	in.Trade = draft.Other
	in.Roles = []draft.Role{{Code: "staff", Name: "Staff", People: 8}}
	return &in
}

func freshIntake() draft.Intake {
	c := freshClient()
	return draft.Intake{Work: c.Work, Laundering: c.Laundering, Seen: true, ShowPrices: true}
}

func checkIntake(r *reader, root *yaml.Node, in *draft.Intake, shop *programme.Shop) {
	regimes := codesOf(shop.Baselines.Regimes, func(x *programme.Regime) string { return x.Code })
	r.known(at(root, "laundering", "regime"), "laundering.regime", in.Laundering.Regime, "laundering regime", regimes)
	if in.Manager != "" {
		r.known(at(root, "manager"), "manager", in.Manager, "manager",
			codesOf(shop.Managers, func(x *programme.Manager) string { return x.Code }))
	}
	unique(r, root, "roles", in.Roles, func(x *draft.Role) string { return x.Code })
	if len(in.Roles) == 0 {
		r.wrong(root, "roles", "name at least one role with its number of people")
	}
	if len([]rune(in.Code)) > longestDraftCode {
		r.wrong(at(root, "code"), "code", "read %q; keep it to %d letters, since artworks are named after it", in.Code,
			longestDraftCode)
	}
}

// longestDraftCode leaves room for the part that names an artwork.
const longestDraftCode = 20

func draftFields() []field[draft.Intake] {
	type I = draft.Intake
	return []field[I]{
		code("code", "short name of the client", func(i *I) *string { return &i.Code }).needed(),
		text("name", "of the business, as it should stand on its people's backs",
			func(i *I) *string { return &i.Name }).needed(),
		group("customer", "who says yes to a reorder",
			contactFields[programme.Contact](func(c *programme.Contact) *programme.Contact { return c }),
			func(i *I) *programme.Contact { return &i.Customer }).needed(),
		value("manager", "code of the person in your shop who looks after them; empty = the owner",
			func(i *I) *string { return &i.Manager }, parseMaybeCode, func(s string) string { return s }, same("")),
		word("trade", "food, retail, hotel, care, school, office, cleaning, grounds, building, garage, delivery, workshop or other",
			draft.Trades(), draft.Other, func(i *I) *draft.Trade {
				return &i.Trade
			}).needed(),
		group("work", "", workFields(), func(i *I) *programme.Work { return &i.Work }),
		yesNo("cold_or_wet", "weather that asks for an outer layer", func(i *I) *bool { return &i.ColdOrWet }),
		yesNo("flames", "open flame or hot fat near the people", func(i *I) *bool { return &i.Flames }),
		yesNo("traffic", "people work beside moving vehicles", func(i *I) *bool { return &i.Traffic }),
		group("laundering", "how pieces are washed", launderingFields(),
			func(i *I) *programme.Laundering { return &i.Laundering }),
		yesUnless("seen_by_customers", "", true, func(i *I) *bool { return &i.Seen }),
		value("pool", "whole kits that lie ready for starters nobody knows yet, such as 2 kits",
			func(i *I) *int { return &i.Pool }, parseKits, formatKits, same(0)),
		yesUnless("show_prices", "prices in their mails and order forms, once each piece has one", true,
			func(i *I) *bool { return &i.ShowPrices }),
		protectiveField(),
		list("roles", "kinds of job with their people", draftRoleFields(), draft.Role{People: 1},
			func(i *I) *[]draft.Role { return &i.Roles }).needed(),
		text("services", "for the back of a mobile crew, in a few words", func(i *I) *string { return &i.Services }),
		text("telephone", "for the back of a mobile crew", func(i *I) *string { return &i.Telephone }),
		text("area", "for the back of a mobile crew: town or county", func(i *I) *string { return &i.Area }),
		text("colour", "wanted colour, where the garment comes in it", func(i *I) *string { return &i.Colour }),
		number("hires_a_year", "0 = not known: as many as leave", 0, 100000, 0,
			func(i *I) *float64 { return &i.HiresPerYear }),
		number("leavers_a_year", "share of staff, such as 0.4; 0 = not known: as usual in the trade", 0, 20, 0,
			func(i *I) *float64 { return &i.LeaversPerYear }),
	}
}

func draftRoleFields() []field[draft.Role] {
	type R = draft.Role
	return []field[R]{
		code("code", "", func(x *R) *string { return &x.Code }).needed(),
		text("name", "", func(x *R) *string { return &x.Name }),
		whole("people", "", 1, 100000, 1, func(x *R) *int { return &x.People }),
		yesNo("part_time", "", func(x *R) *bool { return &x.PartTime }),
		yesNo("back_room", "not seen by customers", func(x *R) *bool { return &x.BackRoom }),
		yesNo("indoors", "works inside where the rest works out: no weather clothing",
			func(x *R) *bool { return &x.Indoors }),
	}
}

// parseMaybeCode returns a code, or nothing on a sheet that is still blank.
func parseMaybeCode(s string) (string, error) {
	if s == "" {
		return "", nil
	}
	return parseCode(s)
}

// protectiveField reads the protective duties as a list of words.
func protectiveField() field[draft.Intake] {
	parse := func(s string) (string, error) {
		switch programme.Protective(s) {
		case programme.HighVisibility, programme.FlameResistant, programme.OtherPPE:
			return s, nil
		case programme.NotProtective:
		}
		return "", fmt.Errorf("read %q; write high-visibility, flame-resistant or other-protective", short(s))
	}
	f := texts("protective", "list: high-visibility, flame-resistant, other-protective", parse,
		func(w *protectiveWords) *[]string { return &w.words })
	return field[draft.Intake]{
		key: f.key, help: f.help, blank: blankList,
		read: func(r *reader, n *yaml.Node, path string, into *draft.Intake) {
			var w protectiveWords
			f.read(r, n, path, &w)
			for _, s := range w.words {
				into.Protective = append(into.Protective, programme.Protective(s))
			}
		},
		write: func(from *draft.Intake, all bool) *yaml.Node {
			var w protectiveWords
			for _, p := range from.Protective {
				w.words = append(w.words, string(p))
			}
			return f.write(&w, all)
		},
	}
}

type protectiveWords struct{ words []string }
