package record_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/daemon/record"
	"github.com/kitmuster/kitmuster/programme"
)

func TestWordsOfAnEntryAreShownWithNames(t *testing.T) {
	people := []programme.Person{
		{StaffID: "5", Name: "Ada Brackenholt"}, {StaffID: "51", Name: "Bodhi Cresswater"},
		{StaffID: "KL261207-8eed", Name: "Kezia Larkfield"}, {StaffID: "TA", Name: "Tove Ashlock"}, {StaffID: "9"},
	}
	for words, want := range map[string]string{
		"KL261207-8eed starts as staff on 2026-12-07; TA starts as staff on 2026-12-07": "KL261207-8eed Kezia Larkfield starts as staff on 2026-12-07; TA Tove Ashlock starts as staff on 2026-12-07",
		"issued 5 polo/navy/M to 5 on 2026-03-02":                                       "issued 5 polo/navy/M to 5 Ada Brackenholt on 2026-03-02",
		"ended 51 polo/navy/M of 51 on 2026-03-02 (worn)":                               "ended 51 polo/navy/M of 51 Bodhi Cresswater on 2026-03-02 (worn)",
		"counted 5 polo/navy/M with 51 on 2026-03-02":                                   "counted 5 polo/navy/M with 51 Bodhi Cresswater on 2026-03-02",
		"5 pieces of 51 came back":                                                      "5 pieces of 51 Bodhi Cresswater came back",
		"5 entries of the day sheet of the week from 2026-03-02":                        "5 entries of the day sheet of the week from 2026-03-02",
		"5: last day 2026-03-31":                                                        "5 Ada Brackenholt: last day 2026-03-31",
		"9: last day 2026-03-31":                                                        "9: last day 2026-03-31",
		"proposal 5: accepted on 2026-03-02":                                            "proposal 5: accepted on 2026-03-02",
		"511 starts as staff on 2026-12-07":                                             "511 starts as staff on 2026-12-07",
	} {
		require.Equal(t, want, record.Named(words, people))
	}
}
