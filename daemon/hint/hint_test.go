package hint_test

import (
	"errors"
	"fmt"
	"io/fs"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/daemon/hint"
)

// The desk tells an error in its own words however deep the hint lies, and a sentence with a hint in both.
func TestWordsOfTheDesk(t *testing.T) {
	write := hint.Text{Command: "give it with --on", Desk: "write it into Day"}
	shown := hint.Text{Command: "; 'kitmuster orders list' shows them"}
	err := fmt.Errorf("order 7: %w", errors.Join(fmt.Errorf("the day is missing; %w", write),
		fmt.Errorf("%w%w", fs.ErrNotExist, shown)))
	require.EqualError(t, err,
		"order 7: the day is missing; give it with --on\nfile does not exist; 'kitmuster orders list' shows them")
	require.Equal(t, "order 7: the day is missing; write it into Day\nfile does not exist", hint.Desk(err))
	require.ErrorIs(t, err, write)

	require.Equal(t, hint.Text{Command: "of 2: give it with --on.", Desk: "of 2: write it into Day."},
		hint.Sprintf("of %d: %s.", 2, write))
	require.Equal(t, "order 7: the day is missing; write it into Day\nfile does not exist",
		hint.Sprintf("%s", err).Desk)
	require.Equal(t, "nothing", hint.Desk(errors.New("nothing")))
}
