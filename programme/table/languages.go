package table

import (
	"slices"
	"strings"
	"unicode"

	"github.com/kitmuster/kitmuster/programme/match"
)

// headingWords holds the headings of lists as shops and payroll programs write them in German,
// French, Spanish, Italian, Dutch and Portuguese, in this order, with the columns that each may mean:
// of a form, the first that it has. Like all other words they are asked about, with the mapping
// to add (German: common practice, no source; the others from memory).
var headingWords = keyed([]translation{
	{"name", []string{
		"Mitarbeiter", "Mitarbeiterin", "Mitarbeitername", "Name, Vorname", "Nachname, Vorname",
		"Vor- und Nachname", "Vorname Nachname", "Vorname Name", "Träger", "Trägerin",
		"Nom", "Nom et prénom", "Nom, prénom", "Prénom et nom", "Nom complet", "Salarié", "Salariée", "Employé",
		"Employée", "Collaborateur", "Collaboratrice", "Porteur",
		"Nombre", "Nombre y apellidos", "Apellidos y nombre", "Nombre completo", "Empleado", "Empleada", "Trabajador",
		"Trabajadora",
		"Nome", "Nome e cognome", "Cognome e nome", "Nominativo", "Dipendente", "Collaboratore",
		"Naam", "Volledige naam", "Voor- en achternaam", "Medewerker", "Werknemer", "Drager",
		"Nome completo", "Nome e apelido", "Funcionário", "Colaborador", "Trabalhador",
	}},
	{"first_name", []string{
		"Vorname", "Rufname", "Prénom", "Nombre de pila", "Nome di battesimo", "Voornaam", "Roepnaam",
		"Primeiro nome",
		"Nome próprio",
	}},
	{"last_name", []string{
		"Nachname", "Familienname", "Zuname", "Nom de famille", "Nom d'usage", "Apellido", "Apellidos", "Cognome",
		"Achternaam", "Familienaam", "Apelido", "Sobrenome", "Último nome",
	}},
	{"staff_id", []string{
		"Personalnummer", "Personal-Nr.", "Pers.-Nr.", "Mitarbeiternummer", "Mitarbeiter-Nr.", "MA-Nr.",
		"Ausweisnummer",
		"Nr.", "Mitarbeiter", "Mitarbeiterin", "Träger", "Trägerin",
		"Matricule", "N° matricule", "N° salarié", "N° employé", "N° du personnel", "N° badge", "Code salarié",
		"Identifiant", "Salarié", "Employé", "Porteur",
		"N° de empleado", "N° empleado", "N° de trabajador", "Matrícula", "Código de empleado", "Legajo", "Empleado",
		"Matricola", "N° matricola", "Codice dipendente", "N° dipendente", "N° badge", "Dipendente",
		"Personeelsnummer", "Personeelsnr.", "Medewerkernummer", "Werknemersnummer", "Stamnummer", "Medewerker",
		"N° de funcionário", "N° funcionário", "N° mecanográfico", "Código do funcionário", "Funcionário",
	}},
	{"role", []string{
		"Tätigkeit", "Beruf", "Stelle", "Rolle", "Funktion", "Berufsbezeichnung", "Stellenbezeichnung", "Abteilung",
		"Bereich", "Einsatzbereich",
		"Rôle", "Fonction", "Poste", "Poste occupé", "Emploi", "Métier", "Intitulé du poste", "Service",
		"Puesto", "Puesto de trabajo", "Cargo", "Función", "Ocupación", "Oficio", "Categoría", "Departamento",
		"Ruolo", "Mansione", "Qualifica", "Posizione", "Reparto",
		"Functie", "Functienaam", "Rol", "Beroep", "Afdeling",
		"Função", "Categoria", "Profissão", "Posto",
	}},
	{"site", []string{
		"Standort", "Filiale", "Betriebsstätte", "Niederlassung", "Einsatzort", "Arbeitsort",
		"Lieu", "Lieu de travail", "Établissement", "Agence", "Magasin", "Succursale",
		"Sede", "Centro de trabajo", "Lugar de trabajo", "Sucursal", "Tienda",
		"Sede di lavoro", "Luogo di lavoro", "Punto vendita", "Filiale",
		"Locatie", "Vestiging", "Filiaal", "Werkplek", "Standplaats",
		"Local de trabalho", "Loja", "Filial",
	}},
	{"start_date", []string{
		"Eintritt", "Eintrittsdatum", "Eintritt am", "Einstellung", "Einstellungsdatum", "Eingestellt am",
		"Beschäftigt seit", "Beginn", "Arbeitsbeginn", "Seit",
		"Date d'entrée", "Entrée", "Date d'embauche", "Embauche", "Embauché le", "Date de début", "Début", "Entré le",
		"Début de contrat", "Date d'arrivée", "Arrivée", "Depuis",
		"Fecha de alta", "Alta", "Fecha de ingreso", "Ingreso", "Fecha de inicio", "Inicio", "Fecha de entrada",
		"Entrada", "Fecha de contratación", "Fecha de incorporación", "Incorporación",
		"Data di assunzione", "Assunzione", "Data assunzione", "Data inizio", "Inizio", "Data di ingresso",
		"Ingresso",
		"Assunto il",
		"Startdatum", "Datum in dienst", "In dienst", "In dienst sinds", "Indiensttreding", "Begindatum",
		"Ingangsdatum",
		"Data de admissão", "Admissão", "Data de início", "Início", "Data de entrada",
	}},
	{"end_date", []string{
		"Austritt", "Austrittsdatum", "Austritt am", "Ausgeschieden", "Letzter Tag", "Letzter Arbeitstag", "Ende",
		"Kündigung zum",
		"Date de sortie", "Sortie", "Date de fin", "Fin", "Fin de contrat", "Date de départ", "Départ",
		"Dernier jour",
		"Sorti le", "Dernier jour travaillé",
		"Fecha de baja", "Baja", "Fecha de salida", "Salida", "Fecha de fin", "Último día", "Fecha de cese", "Cese",
		"Data di cessazione", "Cessazione", "Data fine", "Fine", "Data di uscita", "Uscita", "Ultimo giorno",
		"Einddatum", "Datum uit dienst", "Uit dienst", "Uitdiensttreding", "Laatste dag", "Laatste werkdag",
		"Data de saída", "Saída", "Data de fim", "Fim", "Último dia", "Data de demissão", "Data de cessação",
	}},
	{"print_name", []string{
		"Namensaufdruck", "Aufdruck", "Namenszug", "Nom à imprimer", "Nom imprimé", "Flocage", "Nombre a imprimir",
		"Nome da stampare", "Naamopdruk", "Nome a imprimir",
	}},
	{"cut", []string{
		"Schnitt", "Passform", "Geschlecht", "Damen/Herren", "Coupe", "Sexe", "Homme/Femme", "H/F", "Corte", "Sexo",
		"Hombre/Mujer", "Taglio", "Sesso", "Uomo/Donna", "Pasvorm", "Geslacht", "Dames/Heren", "M/V", "Homem/Mulher",
	}},
	{"size", slices.Concat(sizeOfAnything, []string{"Größen", "Tailles", "Tallas", "Taglie", "Maten", "Tamanhos"})},
	{"size_top", slices.Concat(sizeOfAnything, []string{
		"Größen", "Hemdgröße", "Shirtgröße", "T-Shirt-Größe", "Pologröße", "Jackengröße", "Oberteil",
		"Größe Oberteil",
		"Größe Shirt", "Größe Polo", "Größe oben",
		"Taille haut", "Haut", "Taille du haut", "Taille T-shirt", "Taille tee-shirt", "Taille polo",
		"Taille chemise",
		"Taille veste",
		"Talla camiseta", "Talla de camiseta", "Talla camisa", "Talla polo", "Talla superior", "Talla parte superior",
		"Talla chaqueta", "Camiseta",
		"Taglia maglia", "Taglia maglietta", "Taglia polo", "Taglia camicia", "Taglia giacca", "Taglia superiore",
		"Maat shirt", "Shirtmaat", "Maat T-shirt", "Maat polo", "Polomaat", "Maat jas", "Bovenmaat", "Maat boven",
		"Tamanho da camisa", "Tamanho camiseta", "Tamanho camisola", "Tamanho polo", "Tamanho t-shirt",
		"Tamanho superior", "Camisa",
	})},
	{"size_bottom", []string{
		"Hosengröße", "Hose", "Größe Hose", "Unterteil", "Größe Unterteil", "Bundweite", "Größe unten",
		"Taille pantalon", "Taille du pantalon", "Pantalon", "Taille bas", "Taille du bas", "Bas", "Tour de taille",
		"Talla pantalón", "Talla de pantalón", "Pantalón", "Talla inferior", "Talla parte inferior",
		"Taglia pantalone", "Taglia pantaloni", "Pantalone", "Pantaloni", "Taglia inferiore",
		"Broekmaat", "Maat broek", "Broek", "Maat onder",
		"Tamanho das calças", "Tamanho calça", "Calças", "Calça", "Tamanho inferior",
	}},
	{"size_head", []string{
		"Kopfgröße", "Hutgröße", "Mützengröße", "Kopfumfang", "Tour de tête", "Taille casquette", "Talla gorra",
		"Taglia cappello", "Hoofdmaat", "Tamanho do boné",
	}},
	{"size_foot", []string{
		"Schuhgröße", "Schuhe", "Größe Schuhe", "Pointure", "Chaussures", "Talla calzado", "Número de calzado",
		"Calzado",
		"Numero scarpe", "Scarpe", "Taglia scarpe", "Schoenmaat", "Maat schoenen", "Schoenen", "Número do calçado",
		"Calçado", "Sapatos",
	}},
	{"size_hand", []string{
		"Handschuhgröße", "Handschuhe", "Taille gants", "Gants", "Talla guantes", "Guantes", "Taglia guanti",
		"Guanti",
		"Handschoenmaat", "Handschoenen", "Tamanho das luvas", "Luvas",
	}},
	{"date", []string{
		"Datum", "Tag", "Ausgabedatum", "Ausgegeben am", "Bestelldatum", "Bestellt am", "Lieferdatum", "Geliefert am",
		"Rechnungsdatum", "Date de remise", "Date de livraison", "Date de commande", "Fecha", "Fecha de entrega",
		"Fecha de pedido", "Data", "Data di consegna", "Data ordine", "Datum uitgifte", "Besteldatum", "Leverdatum",
		"Data de entrega",
	}},
	{"as_of", []string{
		"Datum", "Stand", "Stichtag", "Gezählt am", "Inventurdatum", "Date d'inventaire", "Fecha",
		"Fecha de inventario",
		"Data", "Data inventario", "Teldatum", "Data do inventário",
	}},
	{"expected_on", []string{
		"Liefertermin", "Lieferdatum", "Erwartet", "Erwartet am", "Livraison prévue", "Entrega prevista",
		"Consegna prevista", "Verwacht", "Verwacht op",
	}},
	{"made_on", []string{"Gedruckt am", "Druckdatum", "Hergestellt am"}},
	{"movement", []string{
		"Bewegung", "Vorgang", "Buchungsart", "Art", "Mouvement", "Type de mouvement", "Opération", "Movimiento",
		"Tipo de movimiento", "Movimento", "Tipo movimento", "Beweging", "Mutatie", "Soort", "Tipo de movimento",
	}},
	{"kind", []string{"Art", "Genre", "Tipo", "Soort"}},
	{"garment", garments},
	{"code", garments},
	{"item", garments},
	{"colour", []string{
		"Farbe", "Farbton", "Couleur", "Coloris", "Color", "Colore", "Kleur", "Cor",
	}},
	{"pieces", []string{
		"Anzahl", "Menge", "Stück", "Stückzahl", "Stk.", "Bestand", "Quantité", "Qté", "Nombre", "Pièces", "Nb",
		"Cantidad", "Cant.", "Unidades", "Piezas", "Quantità", "Q.tà", "Pezzi", "Aantal", "Hoeveelheid", "Stuks",
		"Quantidade", "Qtd.", "Peças", "Unidades",
	}},
	{"reason", []string{
		"Grund", "Ursache", "Motif", "Raison", "Cause", "Motivo", "Razón", "Causa", "Causale", "Reden", "Oorzaak",
		"Razão",
	}},
	{"ref", []string{
		"Beleg", "Belegnummer", "Beleg-Nr.", "Lieferschein", "Lieferscheinnummer", "Lieferschein-Nr.", "Auftrag",
		"Auftragsnummer", "Auftrags-Nr.", "Rechnung", "Rechnungsnummer", "Rechnungs-Nr.", "Bestellnummer",
		"Bestell-Nr.",
		"Référence", "N° commande", "Bon de livraison", "N° facture", "Referencia", "N° de pedido", "Albarán",
		"Riferimento", "N° ordine", "DDT", "Referentie", "Bestelnummer", "Pakbon", "Referência", "N° da encomenda",
	}},
	{"client", []string{"Kunde", "Cliente", "Klant"}},
	{"washes", []string{"Wäschen", "Waschgänge", "Lavages", "Lavados", "Lavaggi", "Wasbeurten", "Lavagens"}},
	{"artwork", []string{"Motiv", "Druckmotiv"}},
	{"per_month", []string{"Pro Monat", "Im Monat"}},
	{"item_number", []string{
		"Artikelnummer", "Artikel-Nr.", "Art.-Nr.", "Bestellnummer", "Référence", "Réf.", "Code article",
		"Referencia",
		"Ref.", "Código", "Codice", "Codice articolo", "Artikelcode", "Referência",
	}},
	{"cost", []string{
		"Preis", "Einkaufspreis", "EK", "EK-Preis", "Nettopreis", "Stückpreis", "Prix", "Prix d'achat",
		"Prix unitaire",
		"Prix net", "Prix HT", "PU", "Precio", "Precio neto", "Precio unitario", "Coste", "Prezzo", "Prezzo netto",
		"Prezzo unitario", "Costo", "Prijs", "Inkoopprijs", "Nettoprijs", "Stuksprijs", "Preço", "Preço unitário",
		"Custo",
	}},
	{"pack", []string{
		"Verpackungseinheit", "VE", "VPE", "Conditionnement", "Colisage", "Embalaje", "Confezione",
		"Verpakkingseenheid", "Embalagem",
	}},
	{"availability", []string{
		"Verfügbarkeit", "Lieferbar", "Disponibilité", "Disponible", "Disponibilidad", "Disponibilità",
		"Beschikbaarheid",
		"Leverbaar", "Disponibilidade",
	}},
})

// sizeOfAnything are headings of sizes that do not say of what.
var sizeOfAnything = []string{
	"Größe", "Gr.", "Konfektionsgröße", "Kleidergröße", "Taille", "Taille vêtement", "Taille de vêtement", "Talla",
	"Taglia", "Taglia abito", "Maat", "Kledingmaat", "Tamanho", "Tam.",
}

var garments = []string{
	"Artikel", "Artikelbezeichnung", "Bezeichnung", "Kleidungsstück", "Bekleidung", "Produkt", "Modell", "Ware",
	"Article", "Désignation", "Vêtement", "Produit", "Modèle", "Artículo", "Prenda", "Producto", "Modelo",
	"Articolo", "Capo", "Descrizione", "Prodotto", "Modello", "Kledingstuk", "Omschrijving", "Product", "Artigo",
	"Peça", "Produto",
}

// halfNames are headings that say the whole name, or half of it where another column has the
// other half.
var halfNames = map[string]struct{ beside, then string }{
	"name":   {"first_name", "last_name"}, // of German lists
	"nom":    {"first_name", "last_name"},
	"naam":   {"first_name", "last_name"},
	"nombre": {"last_name", "first_name"},
	"nome":   {"last_name", "first_name"},
}

// translation is one of our columns with the headings that may mean it.
type translation struct {
	column   string
	headings []string
}

// keyed returns, by the key of a heading, the columns that it may mean, in the order of the list.
func keyed(list []translation) map[string][]string {
	out := map[string][]string{}
	for _, t := range list {
		for _, h := range t.headings {
			for _, key := range []string{headingKey(h), headingKey(umlauts.Replace(h))} {
				if !slices.Contains(out[key], t.column) {
					out[key] = append(out[key], t.column)
				}
			}
		}
	}
	return out
}

// umlauts writes German words as they are written where there are none.
var umlauts = strings.NewReplacer("ä", "ae", "ö", "oe", "ü", "ue", "Ä", "Ae", "Ö", "Oe", "Ü", "Ue")

// headingKey returns what two writings of a heading share: its words without marks and small words, a
// word for number last, so that "Date d'entrée" is "DATE ENTREE" and "N° de matricule" "Matricule no.".
func headingKey(s string) string {
	words := strings.FieldsFunc(match.Bare(strings.ReplaceAll(s, "°", "o")),
		func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) })
	number := ""
	words = slices.DeleteFunc(words, func(w string) bool {
		if slices.Contains(numberWords, w) {
			number = "no"
			return true
		}
		return slices.Contains(smallWords, w)
	})
	return strings.Join(words, "") + number
}

var (
	numberWords = strings.Fields("n no nr nro num numero nummer number")
	smallWords  = strings.Fields("de du des d l la le les el los las il lo gli i del della dello dei di da do dos das " +
		"van der den het e et y en und und a o os au al am zum")
)

// longestHeading is longer than any of headingWords, in bytes.
const longestHeading = 64

// translated returns the column of the form that a heading in another language means.
func (m *matcher) translated(cell string) (string, bool) {
	if len(cell) > longestHeading {
		return "", false
	}
	for _, name := range headingWords[headingKey(cell)] {
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

// half returns what a heading means that may be half of a name, among columns that are there or
// asked about.
func half(cell, means string, there func(name string) bool) string {
	h, ok := halfNames[headingKey(cell)]
	if ok && means == "name" && there(h.beside) {
		return h.then
	}
	return means
}
