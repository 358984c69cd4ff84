// Package bench runs published packing and ganging problems and compares what
// the planner finds with what is known about them. See testdata/sheets for the
// problems, their sources and their file format.
package bench

import (
	"bufio"
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"github.com/kitmuster/kitmuster/programme/sheet/gang"
	"github.com/kitmuster/kitmuster/programme/sheet/pack"
)

// Kind names the question that a problem asks.
type Kind string

// Kinds of problems.
const (
	Strip  Kind = "strip"  // least height on a strip
	Sheets Kind = "sheets" // fewest equal sheets
	Gang   Kind = "gang"   // cheapest layouts of artworks of one size
	Run    Kind = "run"    // shortest run of one layout of artworks of many sizes
)

// Problem is one instance.
type Problem struct {
	Name string
	Kind Kind
	// Known is the optimum, the best known value or, when Bound is set, a lower bound; 0 = none.
	Known  float64
	Bound  bool
	Pieces []pack.Piece
	Width  int64
	Height int64
	// Layouts is the number of layouts allowed, for a problem that fixes it.
	Layouts int

	slots        int
	setUp, sheet float64
}

// Options say how to run problems.
type Options struct {
	Turn       bool
	Guillotine bool
	Budget     pack.Options
}

// Found holds the result of one problem.
type Found struct {
	Value float64
	// Simple is the best value of the simple rules, ganging only.
	Simple float64
	// Places are of strip and sheet problems, for checks.
	Places [][]pack.Place
	Layout []gang.Layout
}

// Gap returns how far the value is above what is known, as a share of it.
func (p *Problem) Gap(f Found) float64 {
	if p.Known <= 0 {
		return math.NaN()
	}
	return f.Value/p.Known - 1
}

// Read reads one problem file; some hold many instances.
func Read(name string, data []byte) ([]Problem, error) {
	head, rows, err := split(data)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	r := reader{name: name, head: head, rows: rows}
	var out []Problem
	switch {
	case head["strip_width"] != "":
		out = r.strip()
	case head["bin_width"] != "":
		out = r.sheets()
	case head["slots"] != "":
		out = r.gang()
	case head["sheet_width"] != "":
		out = r.run()
	default:
		return nil, fmt.Errorf("%s: no heading names a strip_width, bin_width, slots or sheet_width", name)
	}
	if r.err != nil {
		return nil, fmt.Errorf("%s: %w", name, r.err)
	}
	return out, nil
}

// split parts "# key: value" lines from the rows below.
func split(data []byte) (map[string]string, [][]string, error) {
	head := map[string]string{}
	var body bytes.Buffer
	lines := bufio.NewScanner(bytes.NewReader(data))
	for lines.Scan() {
		rest, remark := strings.CutPrefix(lines.Text(), "#")
		if !remark {
			body.WriteString(lines.Text() + "\n")
			continue
		}
		if k, v, ok := strings.Cut(rest, ":"); ok {
			head[strings.TrimSpace(k)] = strings.TrimSpace(v)
		}
	}
	if err := lines.Err(); err != nil {
		return nil, nil, err
	}
	rows, err := csv.NewReader(&body).ReadAll()
	if err != nil {
		return nil, nil, err
	}
	if len(rows) == 0 {
		return nil, nil, io.ErrUnexpectedEOF
	}
	return head, rows, nil
}

// reader turns text into numbers and keeps the first error.
type reader struct {
	name string
	head map[string]string
	rows [][]string
	err  error
}

func (r *reader) number(s string) float64 {
	word, _, _ := strings.Cut(s, " ")
	v, err := strconv.ParseFloat(word, 64)
	if err != nil && r.err == nil {
		r.err = fmt.Errorf("%q is not a number", s)
	}
	return v
}

func (r *reader) whole(s string) int64 { return int64(r.number(s)) }

func (r *reader) optional(key string) float64 {
	if r.head[key] == "" {
		return 0
	}
	return r.number(r.head[key])
}

func (r *reader) piece(row []string) pack.Piece {
	if len(row) < 2 {
		r.err = errors.Join(r.err, fmt.Errorf("the row %q is too short", strings.Join(row, ",")))
		return pack.Piece{}
	}
	p := pack.Piece{W: r.whole(row[0]), H: r.whole(row[1]), Count: 1}
	if len(row) > 2 {
		p.Count = int(r.whole(row[2]))
	}
	return p
}

func (r *reader) strip() []Problem {
	p := Problem{Name: r.name, Kind: Strip, Known: r.optional("optimum_height"), Width: r.whole(r.head["strip_width"])}
	for _, row := range r.rows {
		p.Pieces = append(p.Pieces, r.piece(row))
	}
	return []Problem{p}
}

func (r *reader) sheets() (out []Problem) {
	for _, row := range r.rows {
		name := r.name + "/" + row[0]
		if len(out) == 0 || out[len(out)-1].Name != name {
			out = append(out, Problem{Name: name, Kind: Sheets, Bound: true, Width: r.whole(r.head["bin_width"]),
				Height: r.whole(r.head["bin_height"])})
		}
		p := &out[len(out)-1]
		p.Pieces = append(p.Pieces, r.piece(row[1:]))
	}
	return out
}

func (r *reader) gang() (out []Problem) {
	p := Problem{
		Name: r.name, Kind: Gang, slots: int(r.whole(r.head["slots"])),
		setUp: r.optional("setup_cost"), sheet: r.optional("sheet_cost"),
		Layouts: int(r.optional("max_layouts")), Known: max(r.optional("optimum"), r.optional("best_known")),
	}
	for _, row := range r.rows {
		p.Pieces = append(p.Pieces, pack.Piece{W: 1, H: 1, Count: int(r.piece(row).H)})
	}
	if p.sheet > 0 {
		return []Problem{p}
	}
	p.sheet = 1 // the fewest sheets for a given number of layouts
	for k := 1; k <= 4; k++ {
		if v := r.optional(fmt.Sprintf("optimum_sheets_%d_layouts", k)); v > 0 {
			q := p
			q.Name, q.Layouts, q.Known = fmt.Sprintf("%s, %d layouts", r.name, k), k, v
			out = append(out, q)
		}
	}
	if len(out) == 0 && r.err == nil {
		r.err = errors.New("no heading names a sheet_cost or the optimum_sheets_K_layouts for K of 1 to 4")
	}
	return out
}

func (r *reader) run() []Problem {
	p := Problem{Name: r.name, Kind: Run, Known: r.optional("run_lower_bound"), Bound: true, Layouts: 1, sheet: 1,
		Width: r.whole(r.head["sheet_width"]), Height: r.whole(r.head["sheet_height"])}
	for _, row := range r.rows {
		p.Pieces = append(p.Pieces, r.piece(row))
	}
	return []Problem{p}
}
