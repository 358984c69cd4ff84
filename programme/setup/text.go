package setup

import (
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"
)

func text[T any](key, help string, at func(*T) *string) field[T] {
	return value(key, help, at, parseText, asIs, same(""))
}

// maxText bounds names and notes; nothing that a person types is longer.
const maxText = 500

func parseText(s string) (string, error) {
	s = strings.TrimSpace(s)
	if n := utf8.RuneCountInString(s); n > maxText {
		return "", fmt.Errorf("the text has %d letters; write at most %d", n, maxText)
	}
	if i := strings.IndexFunc(s, unicode.IsControl); i >= 0 {
		return "", fmt.Errorf("the text holds a line break or another control character; write it on one line")
	}
	return s, nil
}

// code is a short name that other files use: letters, digits, - and _.
func code[T any](key, help string, at func(*T) *string) field[T] {
	return value(key, help, at, parseCode, asIs, same(""))
}

// parseCode reads a code: up to 40 letters, digits, hyphens and underscores.
func parseCode(s string) (string, error) {
	bad := strings.IndexFunc(s,
		func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) && r != '-' && r != '_' })
	if s == "" || bad >= 0 || utf8.RuneCountInString(s) > 40 {
		return "", fmt.Errorf("%q is not a code; write up to 40 letters, digits, - and _, such as tee-ring", short(s))
	}
	return s, nil
}

// word is one of a few fixed words.
func word[T any, W ~string](key, help string, words []W, otherwise W, at func(*T) *W) field[T] {
	parse := func(s string) (W, error) {
		list := make([]string, 0, len(words))
		for _, w := range words {
			if string(w) == s {
				return w, nil
			}
			list = append(list, string(w))
		}
		if near, ok := nearest(s, list); ok {
			return "", fmt.Errorf("read %q; did you mean %s?", short(s), near)
		}
		return "", fmt.Errorf("read %q; write one of: %s", short(s), strings.Join(list, ", "))
	}
	return value(key, help, at, parse, func(w W) string { return string(w) }, same(otherwise))
}

// email is a bare mail address, such as ann@shop.example.
func email[T any](key, help string, at func(*T) *string) field[T] {
	return value(key, help, at, ParseEmail, asIs, same(""))
}

// ParseEmail reads one bare ASCII address with a dot in its domain. It is
// narrower than RFC 5321 on purpose: what a shop types by hand looks like this.
func ParseEmail(s string) (string, error) {
	local, domain, ok := strings.Cut(s, "@")
	fine := func(part, extra string) bool {
		return part != "" && strings.IndexFunc(part, func(r rune) bool {
			return r > unicode.MaxASCII || !unicode.IsLetter(r) && !unicode.IsDigit(r) &&
				!strings.ContainsRune(extra, r)
		}) < 0 && !strings.HasPrefix(part, ".") && !strings.HasSuffix(part, ".") && !strings.Contains(part, "..")
	}
	if !ok || len(s) > 254 || !fine(local, "._%+-'") || !fine(domain, ".-") || !strings.Contains(domain, ".") {
		return "", fmt.Errorf("read %q; write one mail address, such as ann@shop.example", short(s))
	}
	return s, nil
}
