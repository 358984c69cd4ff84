//go:build browser

package main

import (
	"bytes"
	"context"
	"encoding/csv"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/reorder"
	"github.com/kitmuster/kitmuster/programme/simulate"
)

// bare are amounts of money without their currency: 12.50, but not $12.50; a
// measure, 12.25 in, is bare but for its unit.
var (
	bare     = regexp.MustCompile(`(?:^|[\s(−])(\d[\d,]*\.\d\d)(?:[\s;:.)]|$)`)
	measured = regexp.MustCompile(`\d[\d,.]*\s+(?:in|mm|cm|ft|m|washes|s|h)\b`)
)

// Every mail, form, list, ticket, tag and packing list of three shops is read: no
// section is empty, no number lacks its unit, nobody and no price is missing.
func TestEveryPaperIsWhole(t *testing.T) {
	for name, x := range map[string]struct {
		set      func(*programme.Shop)
		sign     string
		foreign  []string // signs of other countries
		measures string
	}{
		"dollars and inches": {func(*programme.Shop) {}, "$", []string{"£", "€", " mm", " cm", "°C"}, " in"},
		"pounds and millimetres": {func(s *programme.Shop) {
			s.Currency, s.Units, s.DateStyle, s.TimeZone = "GBP", programme.Millimetres, programme.DayFirst,
				"Europe/London"
			s.Terms = programme.Terms{Address: "4 Gannet Lane, Tern Harbour", Registration: "Company no. 0000000",
				Payment: "30 days net", Taxes: []programme.Tax{{Code: "std", Name: "VAT", Percent: 20}}}
		}, "£", []string{"$", "€", "°F", " cm"}, " mm"},
		"euros and centimetres": {func(s *programme.Shop) {
			s.Currency, s.Units, s.DateStyle, s.TimeZone = "EUR", programme.Centimetres, programme.DayFirst,
				"Europe/Berlin"
			s.Artworks[len(s.Artworks)-1].Sizes = []programme.ArtworkSize{{On: "XS-S", Scale: 0.8},
				{On: "2XL-5XL", Scale: 1.15}}
		}, "€", []string{"$", "£", "°F", " mm"}, " cm"},
	} {
		t.Run(name, func(t *testing.T) {
			w := simulate.NewWorld(demoDay, simulate.Seed(simulate.DemoSeed))
			slices.SortStableFunc(w.Cases, func(a, b simulate.Case) int { return len(a.Roster) - len(b.Roster) })
			w.Cases = w.Cases[:4]
			w.Stock = slices.DeleteFunc(w.Stock, func(l programme.StockLine) bool {
				return l.Kind == programme.Finished // without a shelf everybody is due
			})
			x.set(&w.Shop)
			home := filepath.Join(t.TempDir(), "shop")
			var out bytes.Buffer
			require.NoError(t, (&app{out: &out, err: &out, home: home, now: time.Now}).demoOf(t.Context(), home, &w))
			require.NotContains(t, out.String(), "%!")
			p := papers{t: t, home: home}
			proposals := p.proposals()
			require.GreaterOrEqual(t, len(proposals), 3)
			for i := range proposals {
				mustKit(t, home, "proposal", "accept", strconv.FormatInt(proposals[i].Number, 10), "--on",
					demoDay.Add(1).String())
			}
			mustKit(t, home, "orders")
			texts := p.read()
			require.Greater(t, len(texts), 20)
			lengths := false
			for file, text := range texts {
				for _, sign := range x.foreign {
					require.NotRegexp(t, `\d`+regexp.QuoteMeta(sign)+`\b|`+regexp.QuoteMeta(strings.TrimSpace(sign))+
						`\d`, withoutScales(text), "%s: a measure or money of another country", file)
				}
				lengths = lengths || strings.Contains(text, x.measures)
				require.NotContains(t, text, "%!", file)
				// arithmetic counts in parts of pieces, and a ticket has no money
				if !strings.HasSuffix(file, ".csv") && !strings.Contains(file, " why-") &&
					!strings.HasSuffix(file, "-ticket.pdf") {
					require.NotRegexp(t, bare, measured.ReplaceAllString(text, ""),
						"%s: money without its currency", file)
				}
			}
			require.True(t, lengths, "lengths are in the shop's unit")
			for i := range proposals {
				p.whole(&proposals[i], texts, x.sign, w.Cases)
			}
		})
	}
}

// withoutScales leaves out the two rulers of a proof, which have 100 mm and 4 in everywhere.
func withoutScales(s string) string {
	return strings.NewReplacer("100 mm", "", "4 in", "").Replace(s)
}

type papers struct {
	t    *testing.T
	home string
}

func (p papers) proposals() []reorder.Proposal {
	b, err := books.Open(context.Background(), p.home)
	require.NoError(p.t, err)
	defer b.Close()
	list, err := b.Store.Proposals(context.Background(), "")
	require.NoError(p.t, err)
	return list
}

// read returns the words of all mails and of what is attached to them, by name.
func (p papers) read() map[string]string {
	t, out := p.t, map[string]string{}
	for _, dir := range []string{"mail/*.*", "drafts/*.*", "jobs/*/*.*"} {
		files, err := filepath.Glob(filepath.Join(p.home, filepath.FromSlash(dir)))
		require.NoError(t, err)
		for _, f := range files {
			name := filepath.Base(f)
			data, err := os.ReadFile(f)
			require.NoError(t, err)
			switch filepath.Ext(f) {
			case ".html":
				words, empty := wordsOf(t, string(data))
				require.Empty(t, empty, "%s has a title with nothing below it", name)
				out[name] = strings.Join(words, " ")
			case ".eml":
				for part, content := range attached(t, f) {
					out[name+" "+part] = p.text(part, content)
				}
			default:
				out[name] = p.text(name, data)
			}
		}
	}
	return out
}

func (p papers) text(name string, data []byte) string {
	switch filepath.Ext(name) {
	case ".pdf":
		cmd := exec.Command("pdftotext", "-layout", "-", "-")
		cmd.Stdin = bytes.NewReader(data)
		text, err := cmd.Output()
		require.NoError(p.t, err, "%s: this test needs pdftotext (Debian package poppler-utils)", name)
		return string(text)
	case ".csv":
		rows, err := csv.NewReader(bytes.NewReader(bytes.TrimPrefix(data, []byte("\ufeff")))).ReadAll()
		require.NoError(p.t, err, name)
		require.Greater(p.t, len(rows), 1, "%s has no row", name)
		return string(data)
	case ".html":
		words, empty := wordsOf(p.t, string(data))
		require.Empty(p.t, empty, "%s has a title with nothing below it", name)
		return strings.Join(words, " ")
	}
	return ""
}

// whole looks that a proposal's papers have each person and each price.
func (p papers) whole(x *reorder.Proposal, texts map[string]string, sign string, cases []simulate.Case) {
	t := p.t
	number := strconv.FormatInt(x.Number, 10)
	of := func(part string) string {
		for name, text := range texts {
			if strings.Contains(name, part) {
				return text
			}
		}
		require.Fail(t, "there is no paper "+part)
		return ""
	}
	form, list := of("proposal-"+number+"-order-form.pdf"), of("proposal-"+number+"-list.csv")
	tags, packing := of("job-"+number+"-bag-tags.pdf"), of("job-"+number+"-packing-lists.pdf")
	require.Contains(t, of("job-"+number+"-ticket.pdf"), "Temperature")
	for i := range x.Lines {
		l := &x.Lines[i]
		if l.Order > 0 {
			require.Contains(t, form, l.UnitPrice.In(currencyOf(sign)), "the price of %v", l.SKU)
		}
	}
	for _, c := range cases {
		for i := range c.Roster {
			person := &c.Roster[i]
			if c.Client.Code != x.Client || !slices.ContainsFunc(x.Named,
				func(n reorder.Named) bool { return n.StaffID == person.StaffID }) {
				continue
			}
			require.Contains(t, list, person.StaffID)
			name, _, _ := strings.Cut(person.Name, " (")
			if strings.ContainsFunc(name, func(r rune) bool { return r > 0x24f }) {
				continue // drawn as outlines, which have no text
			}
			for paper, text := range map[string]string{"form": form, "tags": tags, "packing list": packing} {
				require.Contains(t, strings.Join(strings.Fields(text), " "), name, "%s of proposal %d", paper, x.Number)
			}
		}
	}
}

func currencyOf(sign string) string {
	return map[string]string{"$": "USD", "£": "GBP", "€": "EUR"}[sign]
}
