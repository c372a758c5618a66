package apidoc

import (
	"reflect"
	"regexp"
	"strings"
)

// Param is one value in the query of an address.
type Param struct {
	Name, Words string
	Whole       bool // a whole number
}

// Operation is one address as a program may ask it.
type Operation struct {
	Summary string
	Query   []Param
	Out     reflect.Type // what it answers; nil: any JSON
	Edits   bool         // it takes an entry of one of the kinds of the document
}

// Route is an address with its operation.
type Route struct {
	Method, Path  string
	Action, Scope string // that the person and the token must be allowed; "" is open to all
	Operation
}

// Edit is one kind of entry.
type Edit struct {
	Kind, Action, Scope, Place string
	Fresh                      bool // a version may be left out
	Body                       reflect.Type
}

var part = regexp.MustCompile(`\{(\w+)\}`)

// Build returns the document, in the form of OpenAPI 3.1, for JSON to write.
func Build(release string, routes []Route, edits []Edit, problem reflect.Type) map[string]any {
	s := &schemas{known: map[named]string{}, out: map[string]any{}}
	refused := map[string]any{"description": "Refused, with what is to be mended (RFC 9457)", "content": map[string]any{
		"application/problem+json": map[string]any{"schema": s.of(problem, false)}}}
	paths := map[string]any{}
	for _, rt := range routes {
		op := map[string]any{"summary": rt.Summary, "operationId": operationID(rt.Method, rt.Path), "responses": map[string]any{
			"200": map[string]any{"description": "Done", "content": map[string]any{"application/json": map[string]any{"schema": answer(s, rt.Out)}}}, "default": refused}}
		if rt.Action == "public" {
			op["security"] = []any{}
		} else {
			op["description"] = needs(rt.Action, rt.Scope)
		}
		params := []any{}
		for _, m := range part.FindAllStringSubmatch(rt.Path, -1) {
			params = append(params, map[string]any{"name": m[1], "in": "path", "required": true, "schema": map[string]any{"type": "string"}})
		}
		for _, q := range rt.Query {
			kind := "string"
			if q.Whole {
				kind = "integer"
			}
			params = append(params, map[string]any{"name": q.Name, "in": "query", "description": q.Words, "schema": map[string]any{"type": kind}})
		}
		if len(params) > 0 {
			op["parameters"] = params
		}
		if rt.Edits {
			op["requestBody"] = map[string]any{"required": true, "content": map[string]any{"application/json": map[string]any{"schema": entries(s, edits)}}}
		}
		at, _ := paths[rt.Path].(map[string]any)
		if at == nil {
			at = map[string]any{}
			paths[rt.Path] = at
		}
		at[strings.ToLower(rt.Method)] = op
	}
	return map[string]any{
		"openapi": "3.1.0",
		"info": map[string]any{"title": "Endcast", "version": release,
			"description": "What programs may ask of this installation. Numbers are in mm, N, MPa and °C; times are RFC 3339. Results support a licensed engineer and do not replace one."},
		"security":   []any{map[string]any{"token": []string{}}},
		"paths":      paths,
		"components": map[string]any{"schemas": s.out, "securitySchemes": map[string]any{"token": map[string]any{"type": "http", "scheme": "bearer", "description": "A token made on the page Account."}}},
	}
}

func answer(s *schemas, t reflect.Type) map[string]any {
	if t == nil {
		return map[string]any{}
	}
	return s.of(t, false)
}

func needs(action, scope string) string {
	if scope == "" {
		return "Needs a token."
	}
	return "Needs the right " + action + " in the program, and the scope " + scope + " of the token."
}

func operationID(method, path string) string {
	words := strings.FieldsFunc(path, func(r rune) bool { return strings.ContainsRune("/{}.", r) })
	return strings.ToLower(method) + "_" + strings.Join(words, "_")
}

// entries is the schema of what an edit sends: one for each kind.
func entries(s *schemas, edits []Edit) map[string]any {
	var kinds []any
	mapping := map[string]string{}
	for _, e := range edits {
		end := map[string]any{"type": "object", "additionalProperties": false, "required": []string{"end", "version"}, "properties": map[string]any{
			"end":     map[string]any{"type": "string", "description": "name or identifier of the end"},
			"version": map[string]any{"type": "integer", "minimum": 1, "description": "of the end, as it was read: the edit is refused when it has moved"}}}
		if e.Fresh {
			end["required"] = []string{"end"}
		}
		ends := map[string]any{"type": "array", "items": end}
		required := []string{"kind", "entry"}
		switch e.Place {
		case "end":
			ends["minItems"], ends["maxItems"] = 1, 1
			required = append(required, "ends")
		case "ends":
			required = append(required, "ends")
		default:
			ends["maxItems"] = 0
		}
		name := "Entry_" + strings.ReplaceAll(e.Kind, ".", "_")
		s.out[name] = map[string]any{"type": "object", "additionalProperties": false, "required": required, "description": needs(e.Action, e.Scope), "properties": map[string]any{
			"kind":     map[string]any{"const": e.Kind},
			"entry":    map[string]any{"type": "string", "format": "uuid", "description": "made by the program; the same entry sent again gets its first answer"},
			"captured": map[string]any{"type": "string", "format": "date-time", "description": "when it was seen or done; left out: now"},
			"ends":     ends,
			"change":   s.of(e.Body, true)}}
		ref := "#/components/schemas/" + name
		kinds, mapping[e.Kind] = append(kinds, map[string]any{"$ref": ref}), ref
	}
	return map[string]any{"oneOf": kinds, "discriminator": map[string]any{"propertyName": "kind", "mapping": mapping}}
}
