package repair

import (
	"go/ast"
	"go/parser"
	"go/token"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/fault"
)

// Every type of this package with an Apply and a Kind is in the catalogue, or in the
// list of those that are not, with a reason: read from the source itself.
func TestEveryChangeIsListedOrSaysWhyNot(t *testing.T) {
	t.Parallel()
	files, err := filepath.Glob("*.go")
	require.NoError(t, err)
	changes := map[string]int{}
	for _, name := range files {
		if strings.HasSuffix(name, "_test.go") {
			continue
		}
		f, err := parser.ParseFile(token.NewFileSet(), name, nil, parser.SkipObjectResolution)
		require.NoError(t, err)
		for _, d := range f.Decls {
			fn, ok := d.(*ast.FuncDecl)
			if !ok || fn.Recv == nil || (fn.Name.Name != "Kind" && fn.Name.Name != "Apply") {
				continue
			}
			if id, ok := fn.Recv.List[0].Type.(*ast.Ident); ok && ast.IsExported(id.Name) {
				changes[id.Name]++
			}
		}
	}
	in := map[string]bool{}
	for _, l := range Catalogue() {
		in[l.Type.Name()] = true
	}
	found := 0
	for name, methods := range changes {
		if methods != 2 {
			continue
		}
		found++
		_, out := unlisted[name]
		require.NotEqual(t, in[name], out, "%s: put it into the catalogue of changes, or into unlisted with the reason, and not into both", name)
	}
	require.Greater(t, found, 70)
	for name := range unlisted {
		require.Equal(t, 2, changes[name], "%s is no change any more", name)
	}
}

func TestCatalogueHoldsEachKindOnce(t *testing.T) {
	t.Parallel()
	seen := map[string]bool{}
	for _, l := range Catalogue() {
		require.False(t, seen[l.Kind], l.Kind)
		seen[l.Kind] = true
		require.True(t, authz.OfProgram(l.Action) && authz.Known(l.Action), l.Kind)
		_, ok := authz.ScopeOf(l.Action)
		require.True(t, ok, "%s: no token could do it", l.Kind)
		ch, err := l.Read(nil)
		require.NoError(t, err, l.Kind)
		require.Equal(t, l.Kind, ch.Kind())
		_, reaching := ch.(Reaching)
		_, wanting := ch.(Wanting)
		if l.Place == AtNone {
			require.True(t, reaching || wanting, "%s names no ends and does not say what it reaches", l.Kind)
		} else {
			require.False(t, reaching, "%s says itself what it reaches", l.Kind)
		}
	}
}

func TestBodyOfAChangeIsReadStrictly(t *testing.T) {
	t.Parallel()
	l, err := ListedAs("survey.record")
	require.NoError(t, err)
	for body, field := range map[string]string{
		`{"facts":{"kind":"cleaned"},"nonsense":1}`: "change",
		`{"readings":[{"x":"12"}]}`:                 "change.readings.0.x",
		`{"readings":{}}`:                           "change.readings",
		`{"facts":{}} {"facts":{}}`:                 "change",
		`[`:                                         "change",
		`{"readings":[{"t":1e999}]}`:                "change.readings.0.t",
	} {
		_, err := l.Read([]byte(body))
		bad, ok := err.(*fault.Invalid)
		require.True(t, ok, "%s: %v", body, err)
		require.Equal(t, field, bad.Fields[0].Field, body)
	}
	step, err := ListedAs("step.completed")
	require.NoError(t, err)
	_, err = step.Read([]byte(`{"act":"released"}`))
	require.ErrorIs(t, err, fault.Fields, "a body cannot be of another kind than the entry says")
	_, err = ListedAs("bridge.import")
	require.ErrorIs(t, err, fault.Fields)
}
