package exact_test

import (
	"encoding/json"
	"math"
	"math/rand/v2"
	"os"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/cmd/kitlab/internal/exact"
	"github.com/kitmuster/kitmuster/programme/replenish"
)

// judge is what the policy costs a week, exactly.
func judge(x *exact.Problem) (cost float64, plan *replenish.Plan) {
	plan = replenish.Best(x.Replenish())
	return x.Cost(plan.UpTo, plan.Due), plan
}

// Exact optima of problems that others solved (testdata/orders names how).
func TestThePolicyCostsHardlyMoreThanTheSolvedOptima(t *testing.T) {
	text, err := os.ReadFile("../../../../testdata/orders/cases.json")
	require.NoError(t, err)
	var file exact.File
	require.NoError(t, json.Unmarshal(text, &file))
	cases := file.Cases()
	require.Len(t, cases, 50)
	sum, n := 0.0, 0.0
	for i := range cases {
		if len(cases[i].Problem.Lines) == 1 && i%4 > 0 && os.Getenv("KITMUSTER_FULL") != "1" {
			continue
		}
		cost, _ := judge(&cases[i].Problem)
		ratio := cost / cases[i].Optimum
		require.LessOrEqual(t, ratio, 1.01, cases[i].Name)
		require.Greater(t, ratio, 1-1e-6, cases[i].Name)
		sum, n = sum+ratio, n+1
	}
	require.LessOrEqual(t, sum/n, 1.002)
}

// Problems of the same make (the model of testdata/orders/README.md, its ranges of
// costs, rates and leads and somewhat beyond), against the optimum by another road.
func TestThePolicyCostsHardlyMoreThanOurOwnOptima(t *testing.T) {
	problems := 12
	if os.Getenv("KITMUSTER_FULL") == "1" {
		problems = 300
	}
	rng := rand.New(rand.NewPCG(5, 8))
	sum, worst := 0.0, 0.0
	for i := range problems {
		x := drawn(rng, 1+i%2)
		cost, plan := judge(&x)
		most := make([]int, len(plan.UpTo))
		for j, s := range plan.UpTo {
			most[j] = s + s/2 + 8
		}
		least, _ := x.Optimum(most)
		require.LessOrEqual(t, cost/least, 1.01, "%+v", x)
		sum, worst = sum+cost/least, max(worst, cost/least)
	}
	require.LessOrEqual(t, sum/float64(problems), 1.003)
	t.Logf("%d problems: %.4f on average, %.4f at most", problems, sum/float64(problems), worst)
}

// drawn is a problem of so many lines; one alone may be of a large client.
func drawn(rng *rand.Rand, lines int) exact.Problem {
	x := exact.Problem{Ordering: 5 + 75*rng.Float64(), Lead: rng.IntN(7)}
	widest := 20.0
	if lines == 1 {
		widest = 60
	}
	for range lines {
		cost := 6 + 12*rng.Float64()
		x.Lines = append(x.Lines, exact.Line{
			Steady: replenish.Steady{Rate: 0.05 * math.Pow(widest, rng.Float64()),
				Dispersion: []float64{1, 1.2, 1.5, 2, 2.5, 4}[rng.IntN(6)]},
			Keeping: cost * (0.2 + 0.4*rng.Float64()) / 52, Missing: 0.3 * math.Pow(17, rng.Float64()),
		})
	}
	return x
}
