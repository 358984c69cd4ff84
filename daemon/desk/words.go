package desk

import "regexp"

// deskWords say for each hint at a command where the desk has the same. Errors and
// notes are written for the commands, which know no desk; a test reads them all.
var deskWords = []struct {
	hint *regexp.Regexp
	desk string
}{
	{regexp.MustCompile(`give it with --last-day`), "write it into Last day"},
	{regexp.MustCompile(`are an 'exchange'`), "are an exchange, under Another size"},
	{regexp.MustCompile(`correct it with 'kitmuster leave'`), "correct it with Enter the last day"},
	{regexp.MustCompile(`enter a last day with 'kitmuster leave' instead`), "enter a last day instead"},
	{regexp.MustCompile(`without --size what no longer fits is taken back`),
		"with no other size chosen, Exchange takes back what no longer fits"},
	{regexp.MustCompile(`name the new size with --size`), "choose the new size"},
	{regexp.MustCompile(`for the other cut give '--size (\S+)=none' as well`),
		"for the other cut choose none under Size, $1 as well"},
	{regexp.MustCompile(`give a staff number with --number`), "write a staff number too"},
	{regexp.MustCompile(`give another with --number`), "write another"},
	{regexp.MustCompile(`; import one with 'kitmuster roster import', or add people with 'kitmuster hire'`),
		"; add people with Somebody starts"},
	{regexp.MustCompile(`say whose they are with --client`), "say whose they are"},
	{regexp.MustCompile(`leave --client out`), "leave Whose at Nobody's"},
	{regexp.MustCompile(`leave --washes out`), "it has no washes"},
	{regexp.MustCompile(`another size is an exchange: 'kitmuster exchange \S+ \S+ --size [^']+'`),
		"another size is an exchange, on the page of the person"},
	{regexp.MustCompile(`when cut and size are known: kitmuster starter \S+ (\S+) .*=SIZE`),
		"when cut and size are known, write $1 as the name on this form again, with the size of the cut they wear"},
	{regexp.MustCompile(`when the size is known: kitmuster starter \S+ (\S+) .*=SIZE`),
		"when the size is known, write $1 as the name on this form again, with the size"},
	{regexp.MustCompile(`once they are here, 'kitmuster starter \S+ (\S+)' hands them out`),
		"once they are here, write $1 as the name on this form again: that hands them out"},
	{regexp.MustCompile(`: 'kitmuster held[^']*'`), ", which is given on the page of the client"},
	{regexp.MustCompile(`enter it with 'kitmuster change'`), "choose it on the page of the person"},
	{regexp.MustCompile(`enter it with 'kitmuster change --print-name'`), "enter it under Name on garments"},
	{regexp.MustCompile(`correct it with 'kitmuster change'`), "correct it on the page of the person"},
	{regexp.MustCompile(`state what is there with 'kitmuster stock import'`),
		"what lies there is stated anew in a list of the stock"},
	{regexp.MustCompile(`; 'kitmuster proposal show \d+' tells what`), "; its history tells what"},
	{regexp.MustCompile(`; look again with 'kitmuster proposal show \d+'`), "; look again"},
	{regexp.MustCompile(`; 'kitmuster proposal list' shows them all`), ""},
	{regexp.MustCompile(`Move it away, or write over it with --replace`), "Give the client another name"},
	{regexp.MustCompile(`give the right day with --on`), "write the right day"},
	{regexp.MustCompile(`ended one by one with 'kitmuster end'`), "ended one by one on the pages of the people"},
	{regexp.MustCompile(`record that with 'kitmuster proposal ordered \d+'`), "say so on its page"},
	{regexp.MustCompile(`'kitmuster orders' writes it anew`), "The page Orders writes it anew"},
	{regexp.MustCompile(`'kitmuster orders' writes the orders`), "the page Orders writes the orders"},
	{regexp.MustCompile(`'kitmuster orders' writes them`), "the page Orders writes them"},
	{regexp.MustCompile(`; 'kitmuster orders list' shows them all`), ""},
	{regexp.MustCompile(`: kitmuster orders sent \d+`), ""},
	{regexp.MustCompile(`'kitmuster orders' buys`), "the page Orders buys"},
	{regexp.MustCompile(`apply its programme first with 'kitmuster programme apply'`), "its programme is not applied"},
	{regexp.MustCompile(`, and 'kitmuster mail flush' writes them`), " and are written within a minute"},
	{regexp.MustCompile(`what a file brought is corrected by importing a corrected file`),
		"what a file brought is corrected by handing over a corrected file"},
}

// inDeskWords returns what a command says in the words of the desk.
func inDeskWords(s string) string {
	for _, w := range deskWords {
		s = w.hint.ReplaceAllString(s, w.desk)
	}
	return s
}
