package draft

import (
	"slices"

	"github.com/kitmuster/kitmuster/programme"
)

// washing returns what to tell the client about laundering.
func (in *Intake) washing() []string {
	says := []string{
		"Wait 24 hours before the first wash; turn pieces inside out; never iron on a print.",
	}
	switch in.Laundering.Regime {
	case "industrial":
		says = append(says, "An industrial laundry: only transfers whose maker states that they stand it (ISO 15797, tunnel finishing) should go in; others last a few to twenty washes.")
	case "on-premises":
		says = append(says,
			"A commercial dryer is hard on prints: take pieces out while just damp; over-drying harms cloth as well.")
	case "home-hot":
		says = append(says, "Hot washing and hot tumbling cost about a fifth of the life of cloth and a quarter of many prints'; a cool wash and low tumble would give that back.")
	default:
		says = append(says, "Cool wash, low tumble or line: keep it so.")
	}
	if in.Laundering.Chlorine {
		says = append(says, "Chlorine halves the life of cotton and takes a third off prints; oxygen bleach does less harm. Where hygiene rules ask for chlorine, follow them.")
	}
	if in.Laundering.Softener {
		says = append(says, "Softener loosens prints; leave it out.")
	}
	return says
}

// cautions returns what can hurt someone or cost the shop dear.
func (d *maker) cautions() []string {
	in := d.in
	says := []string{"Presses burn at a touch and pinch: shield them and vent the room; the supplier's own sheet wins over every setting here."}
	if in.Traffic || slices.Contains(in.Protective, programme.HighVisibility) {
		says = append(says, "High-visibility: never print on or over a tape; art takes away from the fluorescent area of the smallest size, and too much of it ends compliance (ISO 20471, ANSI/ISEA 107: check the edition in force). The label's greatest number of washes is a hard stop. Ask the garment's maker in writing.")
	}
	if slices.Contains(in.Protective, programme.FlameResistant) {
		says = append(says, "Flame-resistant clothing: the employer's safety officer chooses it. Ordinary transfers can burn or melt; published advice allows few and small emblems (NFPA 2112 annex: at most five, 16 sq in each, 40 sq in in all, as quoted in public pages). Nothing flame-resistant is in this draft.")
	}
	if slices.Contains(in.Protective, programme.OtherPPE) {
		says = append(says, "Protective clothing: its class, label and the safety officer decide, not wear figures. Nothing protective of other kinds is in this draft.")
	}
	if in.Flames {
		says = append(says, "Open flame or hot fat: cotton is not flame-resistant either, and most aprons and work trousers are part polyester: ask for cotton ones; where the risk asks for protective clothing, follow local rules.")
	}
	if in.Work.Food || in.Trade == Food {
		says = append(says, "Food: outer clothing must be clean at the start of each shift; local food rules decide on caps and aprons.")
	}
	if d.polyester {
		says = append(says, "Polyester, in blends as well: dye migrates into prints from about "+d.shop.Units.Temperature((&programme.PressSettings{}).PolyesterLimit())+
			", sometimes only days later; use low-heat transfers where your printer has them, and test red, maroon and navy first.")
	}
	return append(says,
		"Protective clothing and a required uniform are mostly the employer's cost"+rulesOf(d.shop.Currency)+
			"; local law decides what may be charged to staff.")
}

// rulesOf names rules on who pays for clothing where the currency is used.
// US: 29 CFR 1910.132(h) and DOL WHD Fact Sheet 16; UK: the Personal Protective
// Equipment at Work Regulations 1992 and minimum wage rules; EU: Directive
// 89/656/EEC, article 4(6). The last two from memory.
func rulesOf(currency string) string {
	switch currency {
	case "USD":
		return " (US: 29 CFR 1910.132(h), wage and hour rules)"
	case "GBP":
		return " (UK: Personal Protective Equipment at Work Regulations; what staff pay for a uniform counts against the minimum wage)"
	case "EUR":
		return " (EU: Directive 89/656/EEC for protective equipment)"
	}
	return ""
}
