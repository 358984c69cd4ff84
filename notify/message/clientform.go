package message

import (
	"fmt"
	"slices"
	"strings"

	"github.com/kitmuster/kitmuster/notify/page"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

// name returns what the mail and its papers are called: forms after the first carry
// their number, so that none takes the place of another in a folder.
func (r *Reorder) name() string {
	if p := r.Proposal; p.Form() > 1 {
		return id("proposal", p.Number, "form", p.Form())
	}
	return id("proposal", r.Proposal.Number)
}

// numbered names the proposal and, from the second on, its form.
func (r *Reorder) numbered() string {
	if p := r.Proposal; p.Form() > 1 {
		return fmt.Sprintf("Proposal %d, form %d", p.Number, p.Form())
	}
	return fmt.Sprintf("Proposal %d", r.Proposal.Number)
}

// said names the proposal within a sentence.
func (r *Reorder) said() string {
	if p := r.Proposal; p.Form() > 1 {
		return fmt.Sprintf("proposal %d, form %d", p.Number, p.Form())
	}
	return fmt.Sprintf("proposal %d", r.Proposal.Number)
}

// unanswered tells the manager since when an answer is missing.
func (o *offer) unanswered() string {
	switch {
	case o.Before == nil:
		return ""
	case o.Before.State == reorder.PutOff:
		return fmt.Sprintf(" They asked to be asked again on %s.", o.t.day(o.Before.Until))
	}
	return fmt.Sprintf(" No answer since %s.", o.t.day(o.Proposal.Since()))
}

// since tells a customer who has had a form of this proposal what is other in
// this one, and what becomes of a yes to the older one.
func (o *offer) since(p *page.Page) {
	if o.Before == nil {
		return
	}
	if o.Before.State == reorder.PutOff {
		p.Say("you asked us to come back to proposal %d on %s.", o.Proposal.Number, o.t.day(o.Before.Until))
	} else {
		p.Say("we have no answer yet to proposal %d, which we sent you on %s.", o.Proposal.Number,
			o.t.day(o.Proposal.Since()))
	}
	if words := o.differs(); len(words) > 0 {
		p.Say("Changed since the form of %s:", o.t.day(o.Before.AsOf))
		p.List(words)
	}
	p.Say("This form takes its place%s. If you have said yes to the older one in the meantime, that counts.",
		o.replaces())
}

// replaces names the other proposals whose pieces are in this one.
func (o *offer) replaces() string {
	var numbers []string
	for _, old := range o.Replaces {
		numbers = append(numbers, fmt.Sprintf("that of proposal %d of %s", old.Number, o.t.day(old.AsOf)))
	}
	if len(numbers) == 0 {
		return ""
	}
	return " and " + sentence(numbers) + ", whose dates the file marked withdrawn takes out of your calendar"
}

// differsUpTo is the number of changes of pieces that are listed one by one.
const differsUpTo = 6

func (o *offer) differs() []string {
	out := o.sums()
	listed := slices.DeleteFunc(slices.Clone(o.Differs), func(d reorder.Difference) bool {
		return d.Kind == reorder.OtherPrice || d.Kind == reorder.OtherTotal // in the sums
	})
	for i, d := range listed {
		if i == differsUpTo && len(listed) > differsUpTo+1 {
			return append(out, fmt.Sprintf("and %d more", len(listed)-i))
		}
		out = append(out, d.Words(o.t.day, o.t.money, o.t.what))
	}
	return out
}

// sums says in a line what all pieces together and their price were on the older form, where they differ: even
// what is too little to be listed by itself is noticed there by whoever holds one beside the other.
func (o *offer) sums() []string {
	was, is := o.Before, o.Proposal
	var parts []string
	if a, b := was.Pieces(), is.Pieces(); a != b {
		parts = append(parts, fmt.Sprintf("%d pieces instead of %d", b, a))
	}
	if o.priced && was.Priced() && was.Price != is.Price {
		parts = append(parts, fmt.Sprintf("%s instead of %s", o.t.money(is.Price), o.t.money(was.Price)))
	}
	if len(parts) == 0 {
		return nil
	}
	return []string{"together " + strings.Join(parts, ", ")}
}
