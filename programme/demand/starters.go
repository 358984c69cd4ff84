package demand

import "github.com/kitmuster/kitmuster/programme/wear"

// ExpectNoStarters leaves out people who may join but are not on the roster, for
// questions about those alone who are there or known to come.
func (in *Input) ExpectNoStarters() { in.Staffing.Joining = wear.Certain(1e-12) }
