package main

import (
	"encoding/json"
	"fmt"
	"os"

	"github.com/spf13/cobra"

	"github.com/kitmuster/kitmuster/cmd/kitlab/internal/exact"
	"github.com/kitmuster/kitmuster/programme/replenish"
)

// ordersReport is the shape of 'kitlab orders --json', format 1. Money is a week.
type ordersReport struct {
	Format   int           `json:"format"`
	Problems []orderJudged `json:"problems"`
	Mean     float64       `json:"mean_ratio"`
	Worst    float64       `json:"worst_ratio"`
}

type orderJudged struct {
	Name    string  `json:"name"`
	Cost    float64 `json:"cost_week"` // of the policy, exactly
	Optimum float64 `json:"optimum"`   // as the file states it, else as package exact finds it
	Ratio   float64 `json:"ratio"`
	UpTo    []int   `json:"order_up_to"` // by the policy
}

// newOrdersCommand judges the policy of ordering on small problems with known optima.
func newOrdersCommand(l *lab) *cobra.Command {
	asJSON := false
	c := &cobra.Command{
		Use:   "orders FILE",
		Short: "Compare what the policy of ordering costs with exact optima",
		Long: `Reads small ordering problems (testdata/orders/README.md says what they are) and lets
the program's own policy decide: how much of each line, and at every position whether
to order now. Prints what that costs a week, worked out exactly over all positions,
the least that any policy costs, and the ratio. Problems may have one or two lines;
where the file states no optimum it is computed.`,
		Example: "  kitlab orders testdata/orders/cases.json --json",
		Args:    cobra.ExactArgs(1),
		RunE: func(_ *cobra.Command, args []string) error {
			r, err := judgeOrders(args[0])
			if err != nil {
				return err
			}
			if asJSON {
				return l.writeJSON(r)
			}
			for _, p := range r.Problems {
				fmt.Fprintf(l.out, "%-8s costs %9.5f a week, at best %9.5f, ratio %.4f\n", p.Name, p.Cost,
					p.Optimum, p.Ratio)
			}
			fmt.Fprintf(l.out, "%d problems: %.4f on average, %.4f at most\n", len(r.Problems), r.Mean, r.Worst)
			return nil
		},
	}
	c.Flags().BoolVar(&asJSON, "json", false, "print for other programs")
	return c
}

func judgeOrders(path string) (ordersReport, error) {
	r := ordersReport{Format: 1}
	text, err := os.ReadFile(path)
	if err != nil {
		return r, err
	}
	var file exact.File
	if err := json.Unmarshal(text, &file); err != nil {
		return r, fmt.Errorf("read %s: %w", path, err)
	}
	cases := file.Cases()
	if len(cases) == 0 {
		return r, fmt.Errorf("%s has no problems; it should have a list %q or %q", path, "single", "joint")
	}
	for i := range cases {
		c := &cases[i]
		if err := c.Problem.Check(); err != nil {
			return r, fmt.Errorf("%s, problem %q: %w", path, c.Name, err)
		}
		j := judgeOrder(c)
		r.Problems = append(r.Problems, j)
		r.Mean += j.Ratio / float64(len(cases))
		r.Worst = max(r.Worst, j.Ratio)
	}
	return r, nil
}

func judgeOrder(c *exact.Case) orderJudged {
	plan := replenish.Best(c.Problem.Replenish())
	j := orderJudged{Name: c.Name, Cost: c.Problem.Cost(plan.UpTo, plan.Due), Optimum: c.Optimum, UpTo: plan.UpTo}
	if j.Optimum == 0 {
		most := make([]int, len(plan.UpTo))
		for i, s := range plan.UpTo {
			most[i] = s + s/2 + 8
		}
		j.Optimum, _ = c.Problem.Optimum(most)
	}
	j.Ratio = j.Cost / j.Optimum
	return j
}
