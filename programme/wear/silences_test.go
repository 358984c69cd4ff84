package wear

// mishaps is mishapsGiven with what silence says under the same risks.
func (k *Learnt) mishaps(risks []risk) Gamma { return k.mishapsGiven(risks, k.silences(nil, risks)) }

// observations is observationsGiven with what silence says under the same risks.
func (k *Learnt) observations(out []Observation, c int, risks []risk) []Observation {
	return k.observationsGiven(out, c, risks, k.silences(nil, risks))
}
