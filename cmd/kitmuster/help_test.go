package main

import (
	"io"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/spf13/cobra"
	"github.com/stretchr/testify/require"
)

// helpWidth is the longest line of a command's description, in letters: what a
// terminal of usual width shows without breaking it in the middle.
const helpWidth = 90

func TestHelpFitsATerminal(t *testing.T) {
	seen := 0
	everyCommand(&app{out: io.Discard, err: io.Discard}, func(c *cobra.Command) {
		seen++
		for line := range strings.SplitSeq(c.Long, "\n") {
			require.LessOrEqual(t, utf8.RuneCountInString(line), helpWidth, "%s --help: %s", c.CommandPath(), line)
		}
	})
	require.Greater(t, seen, 40)
}

// What measures the program belongs to the laboratory, cmd/kitlab.
func TestTheOwnersCommandsMeasureNothing(t *testing.T) {
	root := newRoot(&app{out: io.Discard, err: io.Discard})
	for _, args := range [][]string{{"study"}, {"sheet", "bench"}} {
		c, rest, err := root.Find(args)
		require.True(t, err != nil || len(rest) > 0, "%v leads to %s", args, c.CommandPath())
	}
}

// everyCommand calls f with every command that an owner can type; guides, which are
// read and do nothing, are typed by tests of their own.
func everyCommand(a *app, f func(*cobra.Command)) {
	var walk func(c *cobra.Command)
	walk = func(c *cobra.Command) {
		if !c.IsAdditionalHelpTopicCommand() {
			f(c)
		}
		for _, sub := range c.Commands() {
			walk(sub)
		}
	}
	walk(newRoot(a))
}

// exampleLines are the lines of a command's example as a shell would hand them over, up to a pipe or a file.
func exampleLines(t *testing.T, c *cobra.Command) (lines [][]string) {
	t.Helper()
	for line := range strings.SplitSeq(strings.TrimSpace(c.Example), "\n") {
		words := shellWords(strings.TrimSpace(line))
		if i := slices.IndexFunc(words, func(w string) bool { return w == ">" || w == "|" }); i >= 0 {
			words = words[:i]
		}
		require.Equal(t, "kitmuster", words[0], "%s: %s", c.CommandPath(), line)
		lines = append(lines, words[1:])
	}
	return lines
}

// Each command has an example, and every line of it names a command with flags and words that this command takes.
func TestTheExamplesOfTheHelpCanBeTyped(t *testing.T) {
	seen := 0
	everyCommand(&app{out: io.Discard, err: io.Discard}, func(c *cobra.Command) {
		if !c.HasParent() {
			return
		}
		require.NotEmpty(t, c.Example, c.CommandPath())
		for _, words := range exampleLines(t, c) {
			meant, rest, err := newRoot(&app{out: io.Discard, err: io.Discard}).Find(words)
			require.NoError(t, err, "%v", words)
			require.NoError(t, meant.ParseFlags(rest), "%v", words)
			require.NoError(t, meant.ValidateArgs(meant.Flags().Args()), "%v", words)
			seen++
		}
	})
	require.Greater(t, seen, 80)
}

var (
	quotedCommand = regexp.MustCompile(`'kitmuster ([^']+)'`)
	flagWord      = regexp.MustCompile(`(?:^|[\s(])--([a-z][a-z-]*)`)
)

// What the help of a command says of others is true: a command in quotation marks is there, and so is each flag, of
// the command itself or of one that is quoted.
func TestTheHelpNamesCommandsAndFlagsThatAreThere(t *testing.T) {
	commands, flags := 0, 0
	everyCommand(&app{out: io.Discard, err: io.Discard}, func(c *cobra.Command) {
		text := strings.Join(strings.Fields(c.Long), " ")
		about := []*cobra.Command{c}
		for _, m := range quotedCommand.FindAllStringSubmatch(text, -1) {
			meant, rest, err := newRoot(&app{out: io.Discard, err: io.Discard}).Find(strings.Fields(m[1]))
			require.NoError(t, err, "%s --help: %s", c.CommandPath(), m[0])
			require.True(t, len(rest) == 0 || meant.Runnable() && !meant.HasSubCommands() ||
				rest[0] != strings.ToLower(rest[0]) || strings.HasPrefix(rest[0], "-"), "%s --help: %s",
				c.CommandPath(), m[0])
			about = append(about, meant)
			commands++
		}
		for _, m := range flagWord.FindAllStringSubmatch(text, -1) {
			require.True(t, slices.ContainsFunc(about, func(c *cobra.Command) bool {
				c.InitDefaultHelpFlag()
				return c.Flag(m[1]) != nil
			}), "%s --help speaks of --%s", c.CommandPath(), m[1])
			flags++
		}
	})
	require.Greater(t, commands, 40)
	require.Greater(t, flags, 40)
}

// The examples of the help are typed as written, in a folder with the people, garments and files that they name. Those
// left out name a proposal, an order, a mail, a count, a backup or a client with years of records that the folder does
// not have, ask questions, or go on for ever.
func TestTheExamplesOfTheHelpWorkAsWritten(t *testing.T) {
	shop := namedBakery(t)
	for name, from := range map[string]string{"staff.csv": "people.csv", "pieces.csv": "held.csv",
		"stock.csv": "shelf.csv"} {
		data, err := os.ReadFile(filepath.Join(shop, from))
		require.NoError(t, err)
		write(t, shop, name, string(data))
	}
	write(t, shop, "images.csv", "w,h,count,label\n4in,3in,12,chest\n")
	write(t, shop, "need.csv", "artwork,pieces\nharbour-mark,12\n")
	write(t, shop, "prices.csv", "Style No,colour,size,cost\npolo,navy,M,7.10\n")
	write(t, shop, "march.csv", "")
	mustKit(t, shop, "issue", "bakery", "0001", "polo") // for undo to take back
	without := regexp.MustCompile(`^(proposal (accept|arrived|change|curve|decline|ordered|put-off|received|remake|show)|orders (12|arrived|sent)|mail (again|done|drop|preview|read|take)|counts drop|restore|replay|init$|run|desk|demo|service|check --online|programme (apply|draft intake)|.*\.xlsx|ledger import bakery orders|choose bakery --garment tee|change bakery 0001 --role)`)
	typed := 0
	everyCommand(&app{out: io.Discard, err: io.Discard}, func(c *cobra.Command) {
		if !c.HasParent() {
			return
		}
		lines := slices.DeleteFunc(exampleLines(t, c),
			func(words []string) bool { return without.MatchString(strings.Join(words, " ")) })
		if len(lines) == 0 {
			return
		}
		home := t.TempDir()
		require.NoError(t, os.CopyFS(home, os.DirFS(shop)))
		t.Chdir(home)
		for _, words := range lines {
			status, out, errs := kit(t, home, words...)
			require.Equal(t, exitDone, status, "%v\n%s", words, errs)
			require.NotEmpty(t, out, "%v", words)
			typed++
		}
	})
	require.Greater(t, typed, 60)
}

// A shop knows no daemons: what runs in the background is the service.
func TestNoHelpSpeaksOfADaemon(t *testing.T) {
	daemon := regexp.MustCompile(`(?i)daemon`)
	everyCommand(&app{out: io.Discard, err: io.Discard}, func(c *cobra.Command) {
		require.NotRegexp(t, daemon, c.Short+c.Long+c.Flags().FlagUsages(), c.CommandPath())
	})
	for _, file := range []string{"README.md", "config.example.yaml"} {
		text, err := os.ReadFile(filepath.Join("..", "..", file))
		require.NoError(t, err)
		require.NotRegexp(t, daemon, string(text), file)
	}
}
