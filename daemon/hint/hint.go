// Package hint says what to do next in two wordings: as a command, and as the pages of the desk have it.
package hint

import (
	"fmt"
	"slices"
	"strings"
)

// Text is a sentence or a part of one in both wordings. As an error, and in an error that wraps it, it reads
// as the commands have it.
type Text struct {
	Command string // names commands and flags
	Desk    string // names pages and fields of the desk; may be empty, where the desk shows it anyway
}

func (t Text) Error() string { return t.Command }

// Sprintf formats both wordings; arguments that are errors stand in each as Desk and Error give them.
func Sprintf(format string, args ...any) Text {
	desk := slices.Clone(args)
	for i, a := range args {
		if err, ok := a.(error); ok {
			desk[i] = Desk(err)
		}
	}
	return Text{fmt.Sprintf(format, args...), fmt.Sprintf(format, desk...)}
}

// TrimSuffix cuts an ending off both wordings.
func (t Text) TrimSuffix(end string) Text {
	return Text{strings.TrimSuffix(t.Command, end), strings.TrimSuffix(t.Desk, end)}
}

// Desk returns what an error says, each Text that it wraps in the words of the desk.
func Desk(err error) string {
	words := err.Error()
	for _, t := range within(err) {
		words = strings.Replace(words, t.Command, t.Desk, 1)
	}
	return words
}

// within returns the texts that an error wraps.
func within(err error) []Text {
	switch x := err.(type) { //nolint:errorlint // it takes the chain apart itself
	case Text:
		return []Text{x}
	case interface{ Unwrap() error }:
		return within(x.Unwrap())
	case interface{ Unwrap() []error }:
		var all []Text
		for _, e := range x.Unwrap() {
			all = append(all, within(e)...)
		}
		return all
	}
	return nil
}

// Commands returns texts as the commands have them.
func Commands(texts []Text) []string { return words(texts, Text.Error) }

// OfDesk returns texts as the desk has them.
func OfDesk(texts []Text) []string { return words(texts, func(t Text) string { return t.Desk }) }

func words(texts []Text, of func(Text) string) []string {
	var out []string
	for _, t := range texts {
		out = append(out, of(t))
	}
	return out
}
