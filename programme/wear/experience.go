package wear

import "math"

// Experience holds what the records of the shop's clients together teach about each
// fabric class and kind of print under each way of washing, in baseline washes
// (a client's washes divided by its duty and laundering multipliers). It is the
// prior of each client, worth the catalogue's number of pseudo-endings, and for
// each client it is what the others have taught: nobody's records count twice.
type Experience struct{ known map[sourceKey]*pooled }

type sourceKey struct{ code, regime string }

// pooled is the evidence about one source: endings and exposure at the shop's shape.
type pooled struct {
	prior    Prior
	post     Posterior
	shape    float64
	endings  float64
	exposure float64
	share    map[string]tally // by client
}

type tally struct{ endings, exposure float64 }

// Records is one client's book and history.
type Records struct {
	Book   *Book
	Learnt map[Class]*Learnt
}

// Gather pools what clients have learnt with the catalogue as prior. Learnt
// must come from books without experience.
func Gather(clients []Records) *Experience {
	e := &Experience{known: map[sourceKey]*pooled{}}
	learners := map[sourceKey]*learner{}
	parts := map[sourceKey]map[string][]*learner{}
	for _, r := range clients {
		for _, c := range r.Book.order {
			k := r.Learnt[c]
			if r.Book.client.Known || len(k.lives) == 0 {
				continue
			}
			risks := k.risks()
			for i, s := range k.Terms.sources() {
				key := sourceKey{s.Code, s.Regime}
				// Dividing washes by Factor is the same as multiplying the scale by it.
				l := newLearner(Prior{Weibull: s.Baseline, Strength: s.Strength}, k.observations(i, risks))
				if learners[key] == nil {
					learners[key] = &learner{prior: l.prior}
					parts[key] = map[string][]*learner{}
				}
				learners[key].join(l)
				client := r.Book.client.Code
				parts[key][client] = append(parts[key][client], l)
			}
		}
	}
	for key, l := range learners {
		e.known[key] = l.pool(parts[key])
	}
	return e
}

func (t *Terms) sources() []*Source {
	out := []*Source{&t.Cloth}
	for i := range t.Prints {
		out = append(out, &t.Prints[i].Source)
	}
	return out
}

// join adds the evidence of another client; ages are in units of each one's baseline scale.
func (l *learner) join(o *learner) {
	l.exposed = append(l.exposed, o.exposed...)
	l.shared = append(l.shared, o.shared...)
	l.interval = append(l.interval, o.interval...)
	l.endings, l.sumLog = l.endings+o.endings, l.sumLog+o.sumLog
}

func (l *learner) pool(parts map[string][]*learner) *pooled {
	post := l.posterior()
	typical := post.Typical()
	p := &pooled{prior: l.prior, post: post, shape: typical.Shape, share: map[string]tally{}}
	rate := math.Pow(typical.Scale/post.Unit, -typical.Shape)
	for client, ls := range parts {
		var t tally
		for _, part := range ls {
			x := part.tally(typical.Shape, rate)
			t.endings, t.exposure = t.endings+x.endings, t.exposure+x.exposure
		}
		p.share[client] = t
	}
	for _, client := range sortedKeys(p.share) {
		p.endings, p.exposure = p.endings+p.share[client].endings, p.exposure+p.share[client].exposure
	}
	return p
}

// tally counts expected endings and exposure at a shape and rate: intervals
// as the EM step at that rate completes them.
func (l *learner) tally(k, rate float64) tally {
	t := tally{l.endings, l.exposure(k)}
	for _, s := range l.shared {
		h := rate * k * math.Exp((k-1)*s.at)
		t.endings += s.count * h / (h + s.other)
	}
	for _, b := range l.interval {
		x := math.Exp(k*b.to) - math.Exp(k*b.from)
		all := rate*x + b.other
		share := rate * x / all
		t.endings += b.count * share
		// Expected exposure inside the interval, given that it ended there.
		inside := 1/all - math.Exp(-all)/-math.Expm1(-all)
		t.exposure += b.count * x * inside
	}
	return t
}

// prior returns the prior of a source for a client: the shop's experience
// without that client's own part, at the catalogue's stated strength, or the
// catalogue itself where the shop has none.
func (e *Experience) prior(client string, s Source) Prior {
	if e == nil || e.known[sourceKey{s.Code, s.Regime}] == nil {
		return s.Prior
	}
	p := e.known[sourceKey{s.Code, s.Regime}]
	own := p.share[client]
	strength := p.prior.Strength
	endings, exposure := strength+p.endings-own.endings, strength+p.exposure-own.exposure
	out := s.Prior
	// With few endings of others the shape stays near the catalogue's.
	w := (p.endings - own.endings) / endings
	out.Shape = s.Baseline.Shape * math.Pow(p.shape/s.Baseline.Shape, w)
	out.Scale = s.Baseline.Scale * math.Pow(endings/exposure, -1/p.shape)
	return out
}
