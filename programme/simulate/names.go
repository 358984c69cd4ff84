package simulate

import "math/rand/v2"

// nameList is given and family names of one script and the order they stand in.
type nameList struct {
	given, family []string
	familyFirst   bool
	join          string
	share         int
}

// Names are drawn by parts, so that a full name is nobody's in particular.
var nameLists = []nameList{
	{share: 62, join: " ",
		given: []string{"Ada", "Bodhi", "Calla", "Dario", "Edda", "Fenn", "Greta", "Hollis", "Ines", "Jory", "Kezia",
			"Linus", "Maren", "Nilo", "Orla", "Piers", "Quilla", "Rufus", "Saskia", "Tamsin", "Ulla", "Vasco", "Wilma",
			"Yara", "Zeno"},
		family: []string{"Alderby", "Brackenholt", "Cresswater", "Dunmarrow", "Eastlake", "Fallowell", "Gorsewick",
			"Hartmoor", "Inglebeck", "Juniperson", "Kettlesing", "Larkfield", "Mossop", "Netherby", "Oxmoor",
			"Pennyfold", "Quarlton", "Rushmere", "Stonepath", "Thornwick", "Underhay", "Vintersen", "Wetherlam",
			"Yewdale"}},
	{share: 10, join: " ",
		given: []string{"Zoë", "Åse", "Łucja", "Íñigo", "Çelik", "Anaïs", "Đorđe", "Ørjan", "Žofie", "Noémie"},
		family: []string{"Bjørkås", "Dąbrowiecka", "Núñez-Arroyo", "Çınarlı", "Lefèvre-Poix", "Šumavská", "Grønlien",
			"Ibáñez Rial", "Kővári", "Ðurović"}},
	{share: 6, join: " ", given: []string{"Олена", "Тарас", "Милица", "Георги", "Аксинья"},
		family: []string{"Вербицька", "Яворенко", "Полянска", "Калинич", "Озерная"}},
	{share: 4, join: " ", given: []string{"Ελένη", "Στέφανος", "Δανάη", "Φοίβος"},
		family: []string{"Ακτοπούλου", "Πετρίδης", "Λιμνιάτη", "Ελαιώνας"}},
	{share: 5, familyFirst: true, given: []string{"晓雨", "佳宁", "子墨", "美咲", "陽太"},
		family: []string{"林", "江", "梅", "小川", "森"}},
	{share: 3, familyFirst: true, given: []string{"서윤", "도현", "하린"}, family: []string{"문", "배", "한"}},
	{share: 4, join: " ", given: []string{"ليلى", "سامر", "هدى", "ياسين"},
		family: []string{"الزيتوني", "بستاني", "الحداد", "نجار"}},
	{share: 2, join: " ", given: []string{"נועה", "איתי"}, family: []string{"אלון", "כרמי"}},
	{share: 4, join: " ", given: []string{"मीरा", "अर्जुन", "कविता"}, family: []string{"बागवान", "नदीम", "पर्वते"}},
}

// drawName returns a made-up full name; about a third hold letters beyond ASCII.
func drawName(rng *rand.Rand) string {
	at := rng.IntN(100)
	for i := range nameLists {
		l := &nameLists[i]
		if at -= l.share; at >= 0 {
			continue
		}
		first, last := l.given[rng.IntN(len(l.given))], l.family[rng.IntN(len(l.family))]
		if l.familyFirst {
			first, last = last, first
		}
		return first + l.join + last
	}
	panic("simulate: shares of the name lists sum to less than 100")
}
