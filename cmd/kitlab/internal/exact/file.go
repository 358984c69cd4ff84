package exact

import "github.com/kitmuster/kitmuster/programme/replenish"

// File is the JSON shape of solved problems: of one line, and of several that
// share an order.
type File struct {
	Single []struct {
		namedTerms
		lineOf
	} `json:"single"`
	Joint []struct {
		namedTerms
		Lines []lineOf `json:"lines"`
	} `json:"joint"`
}

type namedTerms struct {
	Name     string  `json:"name"`
	Lead     int     `json:"lead_weeks"`
	Ordering float64 `json:"ordering"`
	Optimum  struct {
		CostWeek float64 `json:"cost_week"`
	} `json:"optimum"`
}

type lineOf struct {
	Rate       float64 `json:"rate"`
	Dispersion float64 `json:"dispersion"`
	Keeping    float64 `json:"keeping_week"`
	Missing    float64 `json:"missing_week"`
}

// Case is a problem with its name and the optimum that the file states, money a
// week; 0 where it states none.
type Case struct {
	Name    string
	Problem Problem
	Optimum float64
}

// Cases returns all problems of the file, in its order.
func (f *File) Cases() []Case {
	var out []Case
	for i := range f.Single {
		s := &f.Single[i]
		out = append(out, s.with([]lineOf{s.lineOf}))
	}
	for i := range f.Joint {
		j := &f.Joint[i]
		out = append(out, j.with(j.Lines))
	}
	return out
}

func (t *namedTerms) with(lines []lineOf) Case {
	c := Case{Name: t.Name, Optimum: t.Optimum.CostWeek, Problem: Problem{Ordering: t.Ordering, Lead: t.Lead}}
	for _, l := range lines {
		c.Problem.Lines = append(c.Problem.Lines, Line{
			Steady: replenish.Steady{Rate: l.Rate, Dispersion: max(1, l.Dispersion)}, Keeping: l.Keeping,
			Missing: l.Missing,
		})
	}
	return c
}
