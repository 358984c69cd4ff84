package programme_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"github.com/kitmuster/kitmuster/programme"
)

func TestANumberStandsWithItsNoun(t *testing.T) {
	for noun, many := range map[string]string{
		"piece": "pieces", "entry": "entries", "copy": "copies", "day": "days", "wash": "washes", "person": "people",
		"shirt piece": "shirt pieces",
	} {
		assert.Equal(t, "1 "+noun, programme.NumberOf(1, noun))
		assert.Equal(t, "0 "+many, programme.NumberOf(0, noun))
		assert.Equal(t, "12 "+many, programme.NumberOf(12, noun))
	}
}

func TestListsAreWrittenWithCommas(t *testing.T) {
	assert.Equal(t, "12, 7", programme.Numbers([]int64{12, 7}))
	assert.Empty(t, programme.Numbers(nil))
	assert.Equal(t, "yes, no", programme.Listing([]bool{true, false}, programme.YesNo))
}

func TestASizeMayHoldSlashesOfItsOwn(t *testing.T) {
	for text, want := range map[string][3]string{"polo": {"polo"}, "polo/navy": {"polo", "navy"},
		"chinos / sand / 34/32": {"chinos", "sand", "34/32"}, "": {}} {
		garment, colour, size := programme.SplitSKU(text)
		assert.Equal(t, want, [3]string{garment, colour, size}, text)
	}
}

func TestWhatHasNoNameIsCalledByItsCode(t *testing.T) {
	shop := &programme.Shop{Garments: []programme.Garment{{Code: "tee", Name: "Crew tee"}, {Code: "cap"}},
		Suppliers: []programme.Supplier{{Code: "film", Name: "Film works"}}}
	client := &programme.Client{Roles: []programme.Role{{Code: "baker", Name: "Baker"}}}
	assert.Equal(t, []string{"Crew tee", "cap", "gone"}, []string{shop.GarmentName("tee"), shop.GarmentName("cap"),
		shop.GarmentName("gone")})
	assert.Equal(t, []string{"Film works", "gone"}, []string{shop.SupplierName("film"), shop.SupplierName("gone")})
	assert.Equal(t, "dtf", shop.KindName("dtf"))
	assert.Equal(t, []string{"Baker", "gone"}, []string{client.RoleName("baker"), client.RoleName("gone")})
}
