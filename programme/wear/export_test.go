package wear

import "github.com/kitmuster/kitmuster/programme"

// WeightOf is the logarithm of the likelihood ratio of a group of pieces that wears
// faster, for its endings and their expectation, and those of all.
func WeightOf(ended, expected, allEnded, allExpected, strength float64) float64 {
	return weightOf(wornTally{ended, expected}, wornTally{allEnded, allExpected}, strength, badFactors)
}

// WeighPace is wearer.weigh.
func WeighPace(endings, expected, sd, shape float64) (float64, Pace) {
	return wearer{endings, expected}.weigh(sd, shape)
}

// OfFrailty is the log likelihood of somebody's endings where factors on hazards have a variance.
func OfFrailty(endings, expected, variance float64) float64 {
	return frailtyOf(variance).logLikelihood(wearer{endings, expected})
}

// Find counts what of a suspected group is in use, and with how many people.
func (s *Suspicion) Find(h *History) { s.find(h) }

// Behind reports that what is missing at the end of somebody's time may still be entered.
func (l *Late) Behind() bool { return l.behind() }

// DelaysOf lists the rows whose delays of entry teach.
func DelaysOf(moves []*programme.Movement, asOf programme.Date) []*programme.Movement {
	list, _ := entered(moves, asOf)
	return list
}

// SpreadUnseen spreads an ending between two washes over its time, where nothing but
// mishaps ends pieces.
func SpreadUnseen(mishap Gamma, from, to, pace float64) []Observation {
	k := &Learnt{Mishap: mishap}
	return k.spread(Observation{Count: 1}, &life{from: from, to: to, pace: pace}, nil)
}

// WornOf returns what a piece shows of wear and what was expected of it, where cloth wears
// out as given and mishaps come at a rate per day.
func WornOf(p programme.Piece, cloth Weibull, mishap float64) (ends, expected float64) {
	b := &belief{risks: []risk{{cloth, 1}}, mishap: mishap}
	return b.worn(&p, &History{})
}

// Parts returns what pieces in service that may be of several batches teach.
func (h *History) Parts() []programme.Piece { return h.parts }
