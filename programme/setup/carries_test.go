package setup_test

import (
	"reflect"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme/setup"
)

// A field that no row of fields_*.go writes would be lost without a word, and one that no
// row reads could not be set.
func TestEveryFieldReachesItsFile(t *testing.T) {
	shop, client := cornerPress(t), bunShop(t)
	w := &walker{lost: map[string]bool{}}
	w.text = func() string { return string(setup.WriteShop(shop)) }
	w.walk(reflect.ValueOf(shop).Elem())
	w.text = func() string { return string(setup.WriteClient(client)) }
	w.walk(reflect.ValueOf(client).Elem())
	var lost []string
	for name, is := range w.lost {
		if is {
			lost = append(lost, name)
		}
	}
	slices.Sort(lost)
	// A smallest order is written as pieces or as a price, an artwork on a size by per cent or width;
	// intake by role stands with roles that there are; nobody is a rate of 0; items come from price
	// lists and stand in catalogue.csv.
	require.Equal(t, []string{"ArtworkSize.Width", "Intake.Nobody", "Intake.PerRole", "Leavers.Nobody", "Shop.Items",
		"SmallestOrder.Price"}, lost, "each other needs a row in fields_*.go")
}

type walker struct {
	text func() string
	lost map[string]bool // by type and field: no change of it changes the text
}

// walk changes one field after the other and sees whether the text changes.
func (w *walker) walk(v reflect.Value) {
	for i := range v.NumField() {
		f, name := v.Field(i), v.Type().Name()+"."+v.Type().Field(i).Name
		if !v.Type().Field(i).IsExported() {
			continue
		}
		old, before := reflect.New(f.Type()).Elem(), w.text()
		old.Set(f)
		w.change(f)
		lost, seen := w.lost[name]
		w.lost[name] = (lost || !seen) && w.text() == before
		w.within(f)
		f.Set(old)
	}
}

func (w *walker) change(f reflect.Value) {
	switch f.Kind() {
	case reflect.String:
		f.SetString(f.String() + "other")
	case reflect.Bool:
		f.SetBool(!f.Bool())
	case reflect.Int, reflect.Int8, reflect.Int32, reflect.Int64:
		f.SetInt(f.Int() + 100)
	case reflect.Float64:
		f.SetFloat(f.Float() + 0.25)
	case reflect.Slice:
		f.Set(reflect.Append(f, w.some(f.Type().Elem())))
	case reflect.Map:
		m := reflect.MakeMap(f.Type())
		m.SetMapIndex(w.some(f.Type().Key()), w.some(f.Type().Elem()))
		f.Set(m)
	case reflect.Pointer:
		f.Set(reflect.New(f.Type().Elem()))
	case reflect.Array:
		w.change(f.Index(0))
	case reflect.Struct:
		for i := range f.NumField() {
			if f.Type().Field(i).IsExported() {
				w.change(f.Field(i))
			}
		}
	default: // no field is of another kind
	}
}

// some is a value with something in it.
func (w *walker) some(of reflect.Type) reflect.Value {
	v := reflect.New(of).Elem()
	w.change(v)
	return v
}

// within goes on with what a field holds; of a list, with its last.
func (w *walker) within(f reflect.Value) {
	switch f.Kind() {
	case reflect.Struct:
		w.walk(f)
	case reflect.Slice:
		w.within(f.Index(f.Len() - 1))
	case reflect.Pointer:
		w.within(f.Elem())
	default: // holds nothing
	}
}
