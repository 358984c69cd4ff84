package study

import (
	"github.com/kitmuster/kitmuster/cmd/kitlab/internal/market"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/demand"
	"github.com/kitmuster/kitmuster/programme/simulate"
	"github.com/kitmuster/kitmuster/programme/wear"
)

// ByProposalsKnowing orders as ByProposals does, but is told what no shop knows:
// the true lives of cloth, prints and mishaps, and the true rates of leaving and
// joining. What it costs less is all that better learning could ever save.
func ByProposalsKnowing(st *market.Study, subject *market.Subject) market.Policy {
	return (&proposing{shop: &st.Shop, client: &subject.Client,
		tell: func(in *demand.Input) { tellTruth(in, subject) }}).review
}

// tellTruth replaces what was learnt by what is so.
func tellTruth(in *demand.Input, subject *market.Subject) {
	truth := &subject.Truth
	for i := range subject.Client.Roles {
		role := &subject.Client.Roles[i]
		for j := range role.Kit {
			if u, ok := in.Book.Use(role.Code, role.Kit[j].Garment, role.Kit[j].Colour); ok {
				tellLives(in, in.Learnt[u.Class.Class], &role.Kit[j], truth)
			}
		}
	}
	hires := 0.0
	for _, x := range truth.HiresPerYear {
		hires += x
	}
	in.Staffing.Leaving = wear.Certain(max(truth.LeavePerYear, 1e-12))
	in.Staffing.Joining = wear.Certain(max(hires, 1e-12))
}

func tellLives(in *demand.Input, k *wear.Learnt, line *programme.KitLine, truth *simulate.Truth) {
	k.Cloth = certain(truth.Fabric[line.Garment])
	for n := range k.Prints {
		for _, d := range line.Decorations {
			if in.Book.PrintCode(d.Artwork) == k.Terms.Prints[n].Code {
				k.Prints[n] = certain(truth.Print[d.Artwork])
			}
		}
	}
	k.Mishap = wear.Certain(truth.MishapPerYear)
}

func certain(l wear.Weibull) wear.Posterior {
	return wear.Posterior{Unit: l.Scale, Nodes: []wear.ShapeNode{{Shape: l.Shape, Weight: 1, Rate: wear.Certain(1)}}}
}
