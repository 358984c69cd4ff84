package table

import "strings"

// Text returns all that a file says, whether it is a list that can be taken in
// or not: its text whatever the encoding, or the cells of every sheet of a
// workbook. ok is false where it cannot be read at all.
func Text(file string, data []byte) (text string, ok bool) {
	if !isZip(data) {
		plain, _, bad := decode(file, data)
		return string(plain), bad == nil
	}
	w, bad := openWorkbook(file, data)
	if bad != nil {
		return "", false
	}
	var b strings.Builder
	for _, s := range w.sheets {
		_ = s.each(func(_ int, cells []string) bool {
			b.WriteString(strings.Join(cells, "\t") + "\n")
			return true
		}) // what is beyond the bounds of a list was not read
	}
	return b.String(), true
}
