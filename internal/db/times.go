package db

import (
	"reflect"
	"time"

	"endcast/internal/domain/repair"
)

// inStoredForm turns every time of a scope into what the database gives back: in
// UTC, to the microsecond. A change may bring times as a form or a device wrote
// them; without this the journal and the derived rows would differ from the rows
// read back later.
func inStoredForm(s *repair.Scope) {
	settleRow(reflect.ValueOf(&s.Program).Elem())
	settleRows(reflect.ValueOf(s).Elem())
	for _, r := range s.Ends {
		settleRow(reflect.ValueOf(&r.End).Elem())
		settleRows(reflect.ValueOf(r).Elem())
	}
}

// settleRows settles the rows of every list of rows in a struct.
func settleRows(v reflect.Value) {
	for i := range v.NumField() {
		f := v.Field(i)
		if f.Kind() != reflect.Slice || f.Type().Elem().Kind() != reflect.Struct || !v.Type().Field(i).IsExported() {
			continue
		}
		for j := range f.Len() {
			settleRow(f.Index(j))
		}
	}
}

func settleRow(v reflect.Value) {
	for i := range v.NumField() {
		switch t := v.Field(i).Interface().(type) {
		case time.Time:
			if s := stored(t); s != t {
				v.Field(i).Set(reflect.ValueOf(s))
			}
		case *time.Time:
			if t != nil {
				if s := stored(*t); s != *t {
					v.Field(i).Set(reflect.ValueOf(&s))
				}
			}
		}
	}
}

func stored(t time.Time) time.Time { return t.UTC().Truncate(time.Microsecond) }
