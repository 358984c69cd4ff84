package roster

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/clean"
	"github.com/kitmuster/kitmuster/programme/match"
	"github.com/kitmuster/kitmuster/programme/size"
	"github.com/kitmuster/kitmuster/programme/table"
)

// row reads one line; its dates wait until all are seen.
func (r *reader) row(row *table.Row) {
	p := programme.Person{
		StaffID: strings.Clone(row.Text(colStaff)),
		Name:    personName(row),
		Site:    strings.Clone(clean.Line(row.Text(colSite))),
	}
	if p.Name == "" {
		col := colName
		if !row.Has(colName) {
			col = colLast
		}
		r.wrong(row.Wrong(col, "the name is missing"))
	}
	role, leftOut := r.role(row)
	if leftOut {
		r.list.LeftOut++
		return
	}
	p.Role = role
	if row.Text(colStart) == "" {
		r.wrong(row.Wrong(colStart, "the start date is missing; write it as year-month-day, such as 2026-03-09"))
	}
	p.Sizes = r.sizes(row)
	r.list.Rows = append(r.list.Rows, Row{Line: row.Line, Person: p})
	r.dates = append(r.dates, [2]int{row.Date(colStart), row.Date(colEnd)})
}

// role finds the programme's role; leftOut says that such people wear no uniform.
func (r *reader) role(row *table.Row) (code string, leftOut bool) {
	raw := clean.Line(row.Text(colRole))
	if mapped, ok := r.roleMap[match.Plain(raw)]; ok && raw != "" {
		r.mapped[match.Plain(raw)] = true
		if mapped == "" {
			return "", true
		}
		raw = mapped
	}
	if r.roles == nil {
		if raw == "" {
			r.wrong(row.Wrong(colRole, "the role is missing"))
		}
		return strings.Clone(raw), false
	}
	code, ok := r.roles.Find(raw)
	if !ok {
		want := r.roles.Want("role", raw)
		if raw != "" {
			want = r.roles.Want("role in the programme", raw)
			want = fmt.Sprintf("%s (a role under another name is mapped with --map %q)", want, "role:"+raw+"=ROLE")
		}
		r.wrong(row.Wrong(colRole, want))
	}
	return code, false
}

// sizes reads the size columns; an empty cell says nothing.
func (r *reader) sizes(row *table.Row) map[string]string {
	sizes := map[string]string{}
	add := func(family, raw string, wrong func(want string) *table.Error) {
		if raw == "" || raw == "-" || strings.EqualFold(raw, "n/a") {
			return
		}
		code, want := r.size(family, raw)
		if want != "" {
			r.wrong(wrong(want))
			return
		}
		sizes[family] = code
	}
	for _, f := range row.Families() {
		add(f.Name, row.Family(f), func(want string) *table.Error { return row.WrongFamily(f, want) })
	}
	for i, family := range slices.Sorted(maps.Keys(r.opt.Sizes)) {
		col := colEnd + 1 + i
		add(family, row.Text(col), func(want string) *table.Error { return row.Wrong(col, want) })
	}
	return sizes
}

func (r *reader) size(family, raw string) (code, want string) {
	if chart := r.opt.Sizes[family]; chart != nil {
		return chart.Find(raw)
	}
	code, ok := size.Canonical(raw)
	if !ok {
		return "", "which is not a size that has one meaning; write it as the garment's label does, such as M, 2XL or 34/32"
	}
	return strings.Clone(code), ""
}
