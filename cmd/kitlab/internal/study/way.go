package study

import (
	"sync"

	"github.com/kitmuster/kitmuster/cmd/kitlab/internal/market"
)

// Way is a way of ordering: a policy for each subject.
type Way func(shop *market.Study, subject *market.Subject) market.Policy

// bench runs ways of ordering on the same shops.
type bench struct {
	studies []market.Study
	weeks   int
	workers int
	done    func() // called after each shop
}

// run returns one score a shop, in order.
func (b *bench) run(way Way) []market.Score {
	scores := make([]market.Score, len(b.studies))
	var wg sync.WaitGroup
	next := make(chan int)
	for range max(1, b.workers) {
		wg.Go(func() {
			for i := range next {
				scores[i] = b.shop(way, &b.studies[i])
				if b.done != nil {
					b.done()
				}
			}
		})
	}
	for i := range b.studies {
		next <- i
	}
	close(next)
	wg.Wait()
	return scores
}

func (b *bench) shop(way Way, st *market.Study) market.Score {
	var sum market.Score
	for i := range st.Subjects {
		s := st.Subjects[i].Run(way(st, &st.Subjects[i]), b.weeks)
		sum.Add(&s)
	}
	return sum
}

func total(scores []market.Score) market.Score {
	var sum market.Score
	for i := range scores {
		sum.Add(&scores[i])
	}
	return sum
}

// by makes a way of a habit's settings.
func by(s Settings) Way {
	return func(st *market.Study, subject *market.Subject) market.Policy {
		return newHabit(s, &st.Shop, subject).review
	}
}
