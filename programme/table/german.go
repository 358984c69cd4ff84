package table

import (
	"strings"

	"github.com/kitmuster/kitmuster/programme/match"
)

// german holds the headings of lists as German-speaking shops and payroll programs write
// them, with the columns that each may mean: of a form, the first that it has. Like all
// other words they are asked about, with the mapping to add (common practice, no source).
var german = germanWords([]translation{
	{"name", []string{"Mitarbeiter", "Mitarbeiterin", "Mitarbeitername", "Name, Vorname", "Nachname, Vorname",
		"Vor- und Nachname", "Vorname Nachname", "Vorname Name", "Träger", "Trägerin"}},
	{"first_name", []string{"Vorname", "Rufname"}},
	{"last_name", []string{"Nachname", "Familienname", "Zuname"}},
	{"staff_id", []string{"Personalnummer", "Personal-Nr.", "Pers.-Nr.", "Mitarbeiternummer", "Mitarbeiter-Nr.",
		"MA-Nr.", "Ausweisnummer", "Mitarbeiter", "Mitarbeiterin", "Träger", "Trägerin"}},
	{"role", []string{"Tätigkeit", "Beruf", "Stelle", "Rolle", "Funktion", "Berufsbezeichnung", "Stellenbezeichnung",
		"Abteilung", "Bereich", "Einsatzbereich"}},
	{"site", []string{"Standort", "Filiale", "Betriebsstätte", "Niederlassung", "Einsatzort", "Arbeitsort"}},
	{"start_date", []string{"Eintritt", "Eintrittsdatum", "Eintritt am", "Einstellung", "Einstellungsdatum",
		"Eingestellt am", "Beschäftigt seit", "Beginn", "Arbeitsbeginn", "Seit"}},
	{"end_date", []string{"Austritt", "Austrittsdatum", "Austritt am", "Ausgeschieden", "Letzter Tag", "Ende",
		"Kündigung zum"}},
	{"print_name", []string{"Namensaufdruck", "Aufdruck", "Namenszug"}},
	{"cut", []string{"Schnitt", "Passform", "Geschlecht", "Damen/Herren"}},
	{"size", []string{"Größe", "Größen", "Gr.", "Konfektionsgröße", "Kleidergröße"}},
	{"size_top", []string{"Größe", "Größen", "Gr.", "Konfektionsgröße", "Kleidergröße", "Hemdgröße", "Shirtgröße",
		"T-Shirt-Größe", "Pologröße", "Jackengröße", "Oberteil", "Größe Oberteil", "Größe Shirt", "Größe Polo",
		"Größe oben"}},
	{"size_bottom", []string{"Hosengröße", "Hose", "Größe Hose", "Unterteil", "Größe Unterteil", "Bundweite",
		"Größe unten"}},
	{"size_head", []string{"Kopfgröße", "Hutgröße", "Mützengröße", "Kopfumfang"}},
	{"size_foot", []string{"Schuhgröße", "Schuhe", "Größe Schuhe"}},
	{"size_hand", []string{"Handschuhgröße", "Handschuhe"}},
	{"date", []string{"Datum", "Tag", "Ausgabedatum", "Ausgegeben am", "Bestelldatum", "Bestellt am", "Lieferdatum",
		"Geliefert am", "Rechnungsdatum"}},
	{"as_of", []string{"Datum", "Stand", "Stichtag", "Gezählt am", "Inventurdatum"}},
	{"expected_on", []string{"Liefertermin", "Lieferdatum", "Erwartet", "Erwartet am"}},
	{"made_on", []string{"Gedruckt am", "Druckdatum", "Hergestellt am"}},
	{"movement", []string{"Bewegung", "Vorgang", "Buchungsart", "Art"}},
	{"kind", []string{"Art"}},
	{"garment", []string{"Artikel", "Artikelbezeichnung", "Bezeichnung", "Kleidungsstück", "Bekleidung", "Produkt",
		"Modell", "Ware"}},
	{"code", []string{"Artikel", "Artikelbezeichnung", "Bezeichnung", "Kleidungsstück", "Produkt"}},
	{"item", []string{"Artikel", "Artikelbezeichnung", "Bezeichnung", "Kleidungsstück", "Produkt"}},
	{"colour", []string{"Farbe", "Farbton"}},
	{"pieces", []string{"Anzahl", "Menge", "Stück", "Stückzahl", "Stk.", "Bestand"}},
	{"reason", []string{"Grund", "Ursache"}},
	{"ref", []string{"Beleg", "Belegnummer", "Beleg-Nr.", "Lieferschein", "Lieferscheinnummer", "Lieferschein-Nr.",
		"Auftrag", "Auftragsnummer", "Auftrags-Nr.", "Rechnung", "Rechnungsnummer", "Rechnungs-Nr.", "Bestellnummer",
		"Bestell-Nr."}},
	{"client", []string{"Kunde"}},
	{"washes", []string{"Wäschen", "Waschgänge"}},
	{"artwork", []string{"Motiv", "Druckmotiv"}},
	{"per_month", []string{"Pro Monat", "Im Monat"}},
	{"item_number", []string{"Artikelnummer", "Artikel-Nr.", "Art.-Nr.", "Bestellnummer"}},
	{"cost", []string{"Preis", "Einkaufspreis", "EK", "EK-Preis", "Nettopreis", "Stückpreis"}},
	{"pack", []string{"Verpackungseinheit", "VE", "VPE"}},
	{"availability", []string{"Verfügbarkeit", "Lieferbar"}},
})

// translation is one of our columns with the headings that may mean it.
type translation struct {
	column   string
	headings []string
}

// germanWords returns, by plain heading, the columns that it may mean, in the order of the list.
func germanWords(list []translation) map[string][]string {
	out := map[string][]string{}
	for _, t := range list {
		for _, h := range t.headings {
			key := plainGerman(h)
			out[key] = append(out[key], t.column)
		}
	}
	return out
}

// plainGerman is match.Plain with umlauts as they are written where there are none.
func plainGerman(s string) string {
	return strings.NewReplacer("ä", "ae", "ö", "oe", "ü", "ue", "ß", "ss").Replace(match.Plain(s))
}

// fromGerman returns the column of the form that a German heading means.
func (m *matcher) fromGerman(cell string) (string, bool) {
	for _, name := range german[plainGerman(cell)] {
		if m.has(name) {
			return name, true
		}
	}
	return "", false
}

// has reports whether the form has a column, or takes it by its prefix.
func (m *matcher) has(name string) bool {
	if _, ok := m.exact[match.Plain(name)]; ok {
		return true
	}
	_, ok := m.behindPrefix(match.Plain(name))
	return ok
}
