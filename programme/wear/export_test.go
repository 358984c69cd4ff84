package wear

// WeightOf is the logarithm of the likelihood ratio of a group of pieces that wears
// faster, for its endings and their expectation, and those of all.
func WeightOf(ended, expected, allEnded, allExpected, strength float64) float64 {
	return weightOf(wornTally{ended, expected}, wornTally{allEnded, allExpected}, strength, badFactors)
}

// WeighPace is wearer.weigh.
func WeighPace(endings, expected, sd, shape float64) (float64, Pace) {
	return wearer{endings, expected}.weigh(sd, shape)
}
