package roster_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/roster"
	"github.com/kitmuster/kitmuster/programme/size"
	"github.com/kitmuster/kitmuster/programme/table"
	"github.com/kitmuster/kitmuster/programme/table/tabletest"
)

func TestFilesThatTakeGigabytesAreRefusedInOneSentence(t *testing.T) {
	for _, f := range tabletest.HostileFiles(t) {
		_, err := roster.Read(f.Name, f.Data, roster.Options{})
		require.ErrorContains(t, err, f.Want, f.Name)
		require.NotContains(t, err.Error(), "\n", f.Name)
	}
}

// A list as an office sends it: an address book's headings, a line twice, a size in two
// ways of writing, a total; and a programme whose one role nobody writes down.
func TestAListAsAnOfficeSendsIt(t *testing.T) {
	const file = "\ufeffHired;Trouser;Surname, first name;Polo size;Pers. no\n" +
		"2019-04-13;34;\"Doyle, Aidan\";2XL / XXL;7\n2021-11-15;32;\"Kerr, Nuala\";M;12\n2021-11-15;32;\"Kerr, Nuala\";M;12\n;;Total;;2\n"
	opt := roster.Options{Roles: []programme.Role{{Code: "staff"}},
		Sizes: map[string]*size.Chart{"top": size.NewChart("M", "2XL"), "bottom": size.NewChart("32", "34")}}
	_, err := roster.Read("staff.csv", []byte(file), opt)
	require.EqualError(t, err, `staff.csv line 1: "Hired" probably means start_date, "Trouser" probably means size_bottom, "Surname, first name" probably means name, "Polo size" probably means size_top, "Pers. no" probably means staff_id; if that is so, add --map "Hired=start_date" --map "Trouser=size_bottom" --map "Surname, first name=name" --map "Polo size=size_top" --map "Pers. no=staff_id" (an empty right side passes a column over).`)
	opt.Headings = map[string]string{"Hired": "start_date", "Trouser": "size_bottom", "Surname, first name": "name",
		"Polo size": "size_top", "Pers. no": "staff_id"}
	list, err := roster.Read("staff.csv", []byte(file), opt)
	require.NoError(t, err)
	require.Len(t, list.Rows, 2)
	require.Zero(t, list.Skipped, "nobody is of a role that wears no uniform")
	require.Equal(t, "staff", list.Rows[0].Person.Role)
	require.Equal(t, "2XL", list.Rows[0].Person.Sizes["top"])
	require.Contains(t, list.Notes, "line 4 says the same as line 3 and counts once")

	// The same number with something else beside it is a doubt, as ever.
	_, err = roster.Read("staff.csv", []byte(strings.Replace(file, "M;12\n2021", "L;12\n2021", 1)), opt)
	require.ErrorContains(t, err, "line 3 has the same number")
	// A role that is said wrong in the same way on many lines is told once.
	opt.Headings["Surname, first name"], opt.Headings["Trouser"] = "name", "role"
	_, err = roster.Read("staff.csv", []byte(file), opt)
	require.ErrorContains(t, err, `lines 3 and 4, column Trouser: read "32", but there is no such role`)
}

func TestAMappedRoleThatNoRowHasIsNoted(t *testing.T) {
	const file = "staff_id,name,role,start_date\n1,Ada,Line Cook,2024-05-01\n"
	for theirs, want := range map[string][]string{"Line Cook": nil,
		"Line Cooks": {`--map "role:Line Cooks=cook" matches nothing: no row has the role "Line Cooks"`}} {
		stated := map[string]string{"role:" + theirs: "cook"}
		list, err := roster.Read("staff.csv", []byte(file),
			roster.Options{Options: table.Options{Headings: stated, Stated: stated}})
		require.NoError(t, err)
		require.Equal(t, want, list.Notes)
	}
}

// A list with the headings that a German-speaking office gives it says, ready to copy, what
// to map; of two that may be the role the first is taken. The words are common practice, no source.
func TestAListWithGermanHeadings(t *testing.T) {
	const file = "Personalliste;;;;;;;;\nPersonal-Nr.;Vorname;Nachname;Tätigkeit;Abteilung;Standort;Eintritt;Größe;Hosengroesse\n" +
		"7;Anja;Brill;Küche;Haus 1;Hafen;03.04.2019;Large;34/32\n12;Jörg;Weiß;Küche;Haus 1;Hafen;15.11.2021;XXL;36 x 34\n"
	opt := roster.Options{Roles: []programme.Role{{Code: "kitchen", Name: "Küche"}, {Code: "hall"}},
		Sizes: map[string]*size.Chart{"top": size.NewChart("L", "2XL"), "bottom": size.NewChart("34/32", "36/34")}}
	_, err := roster.Read("personal.csv", []byte(file), opt)
	require.EqualError(t, err, `personal.csv line 2: "Personal-Nr." probably means staff_id, "Vorname" probably means first_name, "Nachname" probably means last_name, "Tätigkeit" probably means role, "Standort" probably means site, "Eintritt" probably means start_date, "Größe" probably means size_top, "Hosengroesse" probably means size_bottom; `+
		`if that is so, add --map "Personal-Nr.=staff_id" --map "Vorname=first_name" --map "Nachname=last_name" --map "Tätigkeit=role" --map "Standort=site" --map "Eintritt=start_date" --map "Größe=size_top" --map "Hosengroesse=size_bottom" (an empty right side passes a column over).`)
	opt.Headings = map[string]string{"Personal-Nr.": "staff_id", "Vorname": "first_name", "Nachname": "last_name",
		"Tätigkeit": "role", "Standort": "site", "Eintritt": "start_date", "Größe": "size_top",
		"Hosengroesse": "size_bottom"}
	list, err := roster.Read("personal.csv", []byte(file), opt)
	require.NoError(t, err)
	require.Len(t, list.Rows, 2)
	jörg := list.Rows[1].Person
	require.Equal(t, []string{"12", "Jörg Weiß", "kitchen", "2021-11-15", "2XL", "36/34"},
		[]string{jörg.StaffID, jörg.Name, jörg.Role, jörg.Start.String(), jörg.Sizes["top"], jörg.Sizes["bottom"]})

	// Somebody's name in one column, and sizes of any family.
	_, err = roster.Read("liste.csv",
		[]byte("Mitarbeiter;Funktion;Beginn;Konfektionsgröße\nAnja Brill;Küche;2024-02-01;L\n"), roster.Options{})
	require.ErrorContains(t, err,
		`--map "Mitarbeiter=name" --map "Funktion=role" --map "Beginn=start_date" --map "Konfektionsgröße=size_top"`)
}

// Headings as offices write them in the languages in which dates are read, and what is asked (from
// memory). Marks, articles and the way to write number make no difference; a word for the whole name
// is half of it beside the other half.
func TestHeadingsInOtherLanguages(t *testing.T) {
	opt := roster.Options{Roles: []programme.Role{{Code: "kitchen"}, {Code: "hall"}},
		Sizes: map[string]*size.Chart{"top": size.NewChart("L", "2XL"), "bottom": size.NewChart("34/32", "36/34")}}
	for _, c := range []struct{ heading, means string }{
		{"Matricule;Nom;Prénom;Fonction;Date d'entrée;Dernier jour;Taille haut;Taille pantalon",
			"staff_id;last_name;first_name;role;start_date;end_date;size_top;size_bottom"},
		{"N\u00b0 salarié;Nom et prénom;Poste;DATE D\u2019EMBAUCHE;Date de sortie;Taille;Bas",
			"staff_id;name;role;start_date;end_date;size_top;size_bottom"},
		{"Nom;Emploi;Embauche", "name;role;start_date"},
		{"N\u00ba empleado;Nombre;Apellidos;Puesto;Fecha de alta;Fecha de baja;Talla camiseta;Talla pantalón",
			"staff_id;first_name;last_name;role;start_date;end_date;size_top;size_bottom"},
		{"Nombre;Cargo;Fecha ingreso;Último día;Talla", "name;role;start_date;end_date;size_top"},
		{"Matricola;Cognome;Nome;Mansione;Data assunzione;Ultimo giorno;Taglia;Taglia pantaloni",
			"staff_id;last_name;first_name;role;start_date;end_date;size_top;size_bottom"},
		{"Nominativo;Ruolo;Data di assunzione;Data cessazione", "name;role;start_date;end_date"},
		{"Personeelsnr.;Naam;Functie;In dienst;Uit dienst;Shirtmaat;Broekmaat",
			"staff_id;name;role;start_date;end_date;size_top;size_bottom"},
		{"Voornaam;Naam;Afdeling;Datum in dienst;Laatste dag", "first_name;last_name;role;start_date;end_date"},
		{"N.º funcionário;Nome;Função;Data de admissão;Último dia;Tamanho;Calças",
			"staff_id;name;role;start_date;end_date;size_top;size_bottom"},
		{"Nome;Apelido;Função;Data de admissão", "first_name;last_name;role;start_date"},
		{"Nr.;Vorname;Nachname;Funktion;Eintritt;Letzter Tag", "staff_id;first_name;last_name;role;start_date;end_date"},
	} {
		theirs, ours := strings.Split(c.heading, ";"), strings.Split(c.means, ";")
		row := strings.Repeat(";", len(theirs)-1)
		_, err := roster.Read("liste.csv", []byte(c.heading+"\n"+row+"\n"), opt)
		var flags []string
		for i := range theirs {
			flags = append(flags, fmt.Sprintf("--map %q", theirs[i]+"="+ours[i]))
		}
		require.ErrorContains(t, err, "if that is so, add "+strings.Join(flags, " ")+" (an empty", c.heading)
	}
	// A name beside a first name is asked about, in every language, even where both are our words.
	_, err := roster.Read("liste.csv", []byte("Name;Vorname;role;start_date\nBrill;Anja;hall;2024-02-01\n"), opt)
	require.EqualError(t, err, `liste.csv line 1: "Name" probably means last_name (or, if it is the whole name, --map "Name=name"), "Vorname" probably means first_name; if that is so, add --map "Name=last_name" --map "Vorname=first_name" (an empty right side passes a column over).`)
	opt.Headings = map[string]string{"Name": "last_name", "Vorname": "first_name"}
	list, err := roster.Read("liste.csv", []byte("Name;Vorname;role;start_date\nBrill;Anja;hall;2024-02-01\n"), opt)
	require.NoError(t, err)
	require.Equal(t, "Anja Brill", list.Rows[0].Person.Name)
	opt.Headings = map[string]string{"Name": "name", "Vorname": ""}
	list, err = roster.Read("liste.csv", []byte("Name;Vorname;role;start_date\nAnja Brill;Anja;hall;2024-02-01\n"), opt)
	require.NoError(t, err)
	require.Equal(t, "Anja Brill", list.Rows[0].Person.Name)
}
