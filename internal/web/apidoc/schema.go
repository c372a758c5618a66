// Package apidoc writes the OpenAPI document of the addresses that programs ask, from the
// Go types that the handlers read and write: there is no second description to go stale.
package apidoc

import (
	"encoding/json"
	"fmt"
	"path"
	"reflect"
	"strings"
	"time"

	"endcast/internal/domain/units"
)

// schemas gathers the schemas of types, each once.
type schemas struct {
	known map[named]string
	out   map[string]any
}

// named is a type as it is read (from a program) or as it is written (to one): what is
// written always holds every field, and what is read may leave any out.
type named struct {
	t    reflect.Type
	read bool
}

// unitOf names the unit that a number of a type is in.
var unitOf = map[reflect.Type]string{
	reflect.TypeFor[units.Length](): "mm", reflect.TypeFor[units.Force](): "N", reflect.TypeFor[units.Stress](): "MPa", reflect.TypeFor[units.Area](): "mm²",
	reflect.TypeFor[units.Volume](): "mm³", reflect.TypeFor[units.Inertia](): "mm⁴", reflect.TypeFor[units.Moment](): "N·mm", reflect.TypeFor[units.Angle](): "degrees",
	reflect.TypeFor[units.Temperature](): "°C",
}

// of is the schema of a type; it panics for one that JSON cannot hold, at the start of
// the program.
func (s *schemas) of(t reflect.Type, read bool) map[string]any {
	switch t {
	case reflect.TypeFor[time.Time]():
		return map[string]any{"type": "string", "format": "date-time"}
	case reflect.TypeFor[json.RawMessage]():
		return map[string]any{}
	}
	if unit, ok := unitOf[t]; ok {
		return map[string]any{"type": "number", "description": "in " + unit}
	}
	switch t.Kind() {
	case reflect.Bool:
		return map[string]any{"type": "boolean"}
	case reflect.String:
		return map[string]any{"type": "string"}
	case reflect.Int, reflect.Int8, reflect.Int16, reflect.Int32, reflect.Int64, reflect.Uint8, reflect.Uint16, reflect.Uint32:
		return map[string]any{"type": "integer"}
	case reflect.Float32, reflect.Float64:
		return map[string]any{"type": "number"}
	case reflect.Interface:
		return map[string]any{}
	case reflect.Pointer:
		return orNull(s.of(t.Elem(), read))
	case reflect.Slice:
		if t.Elem().Kind() == reflect.Uint8 {
			return map[string]any{"type": "string", "contentEncoding": "base64"}
		}
		return orNull(map[string]any{"type": "array", "items": s.of(t.Elem(), read)})
	case reflect.Array:
		return map[string]any{"type": "array", "items": s.of(t.Elem(), read), "minItems": t.Len(), "maxItems": t.Len()}
	case reflect.Map:
		return orNull(map[string]any{"type": "object", "additionalProperties": s.of(t.Elem(), read)})
	case reflect.Struct:
		if t.Name() == "" {
			return s.object(t, read)
		}
		return map[string]any{"$ref": "#/components/schemas/" + s.name(t, read)}
	}
	panic(fmt.Sprintf("apidoc: %v cannot be JSON", t))
}

// orNull also takes null: an absent value, or a list that nobody filled.
func orNull(x map[string]any) map[string]any {
	if t, ok := x["type"].(string); ok {
		x["type"] = []string{t, "null"}
		return x
	}
	if len(x) == 0 {
		return x
	}
	return map[string]any{"anyOf": []any{x, map[string]any{"type": "null"}}}
}

func (s *schemas) name(t reflect.Type, read bool) string {
	key := named{t, read}
	if n, ok := s.known[key]; ok {
		return n
	}
	name := strings.ToUpper(t.Name()[:1]) + t.Name()[1:]
	name = strings.NewReplacer("[", "_", "]", "", "*", "", "/", "_", ".", "_").Replace(name)
	if read {
		name += "_sent"
	}
	if _, taken := s.out[name]; taken {
		name = path.Base(t.PkgPath()) + "_" + name
	}
	s.known[key], s.out[name] = name, nil // a type may hold itself
	s.out[name] = s.object(t, read)
	return name
}

func (s *schemas) object(t reflect.Type, read bool) map[string]any {
	props, required := map[string]any{}, []string{}
	s.fields(t, read, props, &required)
	out := map[string]any{"type": "object", "properties": props, "additionalProperties": false}
	if !read && len(required) > 0 {
		out["required"] = required
	}
	return out
}

func (s *schemas) fields(t reflect.Type, read bool, props map[string]any, required *[]string) {
	for i := range t.NumField() {
		f := t.Field(i)
		name, options, _ := strings.Cut(f.Tag.Get("json"), ",")
		if f.Anonymous && name == "" && f.Type.Kind() == reflect.Struct {
			s.fields(f.Type, read, props, required)
			continue
		}
		if !f.IsExported() || name == "-" {
			continue
		}
		if name == "" {
			name = f.Name
		}
		props[name] = s.of(f.Type, read)
		if !strings.Contains(options, "omit") {
			*required = append(*required, name)
		}
	}
}
