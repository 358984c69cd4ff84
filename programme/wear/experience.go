package wear

import (
	"maps"
	"math"
	"slices"
)

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

// Trim packs the evidence until it is gathered and learnt from once more.
func (r *Records) Trim() {
	for _, k := range r.Learnt {
		k.packed, k.lives = packLives(k.lives), nil
	}
}

// Gather pools what clients have learnt with the catalogue as prior. Learnt
// must come from books without experience.
func Gather(clients []Records) *Experience {
	lessons := map[sourceKey][]lesson{}
	for _, r := range clients {
		for _, c := range r.Book.order {
			k := r.Learnt[c]
			if r.Book.client.Known || len(k.lives)+k.packed.number == 0 {
				continue
			}
			risks := k.risks()
			for i, s := range k.Terms.sources() {
				key := sourceKey{s.Code, s.Regime}
				lessons[key] = append(lessons[key], lesson{r.Book.client.Code, k, risks, i})
			}
		}
	}
	e := &Experience{known: make(map[sourceKey]*pooled, len(lessons))}
	for key, list := range lessons { // one source after the other, so that all evidence is never there at once
		e.known[key] = poolOf(list)
	}
	return e
}

// lesson holds what one class of a client's pieces teaches about one cause.
type lesson struct {
	client string
	*Learnt
	risks []risk
	cause int
}

// poolOf learns about one source from all that teaches about it.
func poolOf(lessons []lesson) *pooled {
	all := make([]*learner, len(lessons))
	parts := map[string][]*learner{}
	var room []Observation
	var says []silent
	var lives []life
	for i := range lessons {
		l := &lessons[i]
		k := *l.Learnt
		if k.packed.number > 0 {
			lives = k.packed.unpack(lives[:0])
			k.lives = lives
		}
		says = k.silences(says, l.risks)
		room = k.observationsGiven(room[:0], l.cause, l.risks, says)
		s := l.Terms.sources()[l.cause]
		// Dividing washes by Factor is the same as multiplying the scale by it.
		all[i] = newLearner(Prior{Weibull: s.Baseline, Strength: s.Strength}, room)
		parts[l.client] = append(parts[l.client], all[i])
	}
	return joined(all).pool(parts)
}

func (t *Terms) sources() []*Source {
	out := []*Source{&t.Cloth}
	for i := range t.Prints {
		out = append(out, &t.Prints[i].Source)
	}
	return out
}

// joined holds the evidence of several clients; ages are in units of each one's baseline scale.
func joined(all []*learner) *learner {
	out := &learner{prior: all[0].prior}
	exposed, shared, interval := 0, 0, 0
	for _, l := range all {
		exposed, shared, interval = exposed+len(l.exposed), shared+len(l.shared), interval+len(l.interval)
	}
	out.exposed = slices.Grow(out.exposed, exposed)
	out.shared = slices.Grow(out.shared, shared)
	out.interval = slices.Grow(out.interval, interval)
	for _, l := range all {
		out.exposed = append(out.exposed, l.exposed...)
		out.shared = append(out.shared, l.shared...)
		out.interval = append(out.interval, l.interval...)
		out.endings, out.sumLog = out.endings+l.endings, out.sumLog+l.sumLog
	}
	return out
}

func (l *learner) pool(parts map[string][]*learner) *pooled {
	post := l.posterior()
	typical := post.Typical()
	p := &pooled{prior: l.prior, shape: typical.Shape, share: map[string]tally{}}
	rate := math.Pow(typical.Scale/post.Unit, -typical.Shape)
	for client, ls := range parts {
		var t tally
		for _, part := range ls {
			x := part.tally(typical.Shape, rate)
			t.endings, t.exposure = t.endings+x.endings, t.exposure+x.exposure
		}
		p.share[client] = t
	}
	for _, client := range slices.Sorted(maps.Keys(p.share)) {
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
		x := math.Exp(k*(b.to+k*b.blur)) - math.Exp(k*(b.from+k*b.blur))
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
