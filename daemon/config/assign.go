package config

import (
	"fmt"
	"reflect"

	"github.com/spf13/viper"
)

// assign sets one field of c. The values are read as texts and parsed by the
// one reader of this package, so that file, environment and default mean the same.
func assign(c *Config, f field, v *viper.Viper) error {
	if f.section {
		return nil
	}
	at := reflect.ValueOf(c).Elem()
	for _, name := range f.path {
		at = byTag(at, name)
	}
	if f.kind == clientsType {
		var list []ClientRound
		if err := v.UnmarshalKey(f.key(), &list); err != nil {
			return fmt.Errorf("%s: %w", f.key(), err)
		}
		at.Set(reflect.ValueOf(list))
		return nil
	}
	text := v.GetString(f.key())
	value, err := f.parse(text)
	if err != nil {
		return nil // reported with its place by the strict reading
	}
	at.Set(reflect.ValueOf(value))
	return nil
}

func byTag(v reflect.Value, name string) reflect.Value {
	for i := range v.NumField() {
		if v.Type().Field(i).Tag.Get("yaml") == name {
			return v.Field(i)
		}
	}
	panic("config: no field is called " + name)
}
