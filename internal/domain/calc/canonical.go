package calc

import (
	"encoding"
	"encoding/json"
	"fmt"
	"math"
	"reflect"
	"sort"
	"strconv"
)

// canonical writes v much as encoding/json does, with three differences that a
// digest needs: numbers that are infinite or not a number have a form, nothing
// is left out because it is empty, and a value whose content it could not see
// (an unexported field, a function) is a mistake in the program and panics
// instead of being passed over.
func canonical(v any) []byte { return appendValue(nil, reflect.ValueOf(v)) }

var (
	jsonMarshaler = reflect.TypeFor[json.Marshaler]()
	textMarshaler = reflect.TypeFor[encoding.TextMarshaler]()
)

func appendValue(b []byte, v reflect.Value) []byte {
	if !v.IsValid() {
		return append(b, "null"...)
	}
	if (v.Kind() == reflect.Pointer || v.Kind() == reflect.Interface) && v.IsNil() {
		return append(b, "null"...)
	}
	if t := v.Type(); t.Implements(jsonMarshaler) || t.Implements(textMarshaler) {
		text, err := json.Marshal(v.Interface())
		if err != nil {
			panic(fmt.Sprintf("calc: digest of %s: %v", t, err))
		}
		return append(b, text...)
	}
	switch v.Kind() {
	case reflect.Bool:
		return strconv.AppendBool(b, v.Bool())
	case reflect.Int, reflect.Int8, reflect.Int16, reflect.Int32, reflect.Int64:
		return strconv.AppendInt(b, v.Int(), 10)
	case reflect.Uint, reflect.Uint8, reflect.Uint16, reflect.Uint32, reflect.Uint64:
		return strconv.AppendUint(b, v.Uint(), 10)
	case reflect.Float32, reflect.Float64:
		return appendFloat(b, v.Float())
	case reflect.String:
		return strconv.AppendQuote(b, v.String())
	case reflect.Pointer, reflect.Interface:
		return appendValue(b, v.Elem())
	case reflect.Slice, reflect.Array:
		b = append(b, '[')
		for i := range v.Len() {
			if i > 0 {
				b = append(b, ',')
			}
			b = appendValue(b, v.Index(i))
		}
		return append(b, ']')
	case reflect.Map:
		return appendMap(b, v)
	case reflect.Struct:
		return appendStruct(b, v)
	}
	panic(fmt.Sprintf("calc: digest of a %s", v.Type()))
}

// appendFloat writes the shortest text that reads back to the same number. Zero
// has one form whatever its sign.
func appendFloat(b []byte, x float64) []byte {
	if x == 0 {
		x = 0
	}
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return strconv.AppendQuote(b, strconv.FormatFloat(x, 'g', -1, 64))
	}
	return strconv.AppendFloat(b, x, 'g', -1, 64)
}

func appendMap(b []byte, v reflect.Value) []byte {
	entries := make([]string, 0, v.Len())
	for it := v.MapRange(); it.Next(); {
		e := appendValue(nil, it.Key())
		entries = append(entries, string(appendValue(append(e, ':'), it.Value())))
	}
	sort.Strings(entries)
	b = append(b, '{')
	for i, e := range entries {
		if i > 0 {
			b = append(b, ',')
		}
		b = append(b, e...)
	}
	return append(b, '}')
}

func appendStruct(b []byte, v reflect.Value) []byte {
	t := v.Type()
	b = append(b, '{')
	first := true
	for i := range t.NumField() {
		f := t.Field(i)
		if !f.IsExported() && f.Name != "_" {
			panic(fmt.Sprintf("calc: digest of %s: field %s is not exported", t, f.Name))
		}
		if f.Tag.Get("json") == "-" || f.Name == "_" {
			continue
		}
		if !first {
			b = append(b, ',')
		}
		first = false
		b = strconv.AppendQuote(b, f.Name)
		b = appendValue(append(b, ':'), v.Field(i))
	}
	return append(b, '}')
}
