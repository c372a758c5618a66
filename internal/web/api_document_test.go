package web_test

import (
	"fmt"
	"maps"
	"mime"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"testing"

	"github.com/getkin/kin-openapi/openapi3"
	"github.com/santhosh-tekuri/jsonschema/v6"
	"github.com/stretchr/testify/require"

	"endcast/internal/domain/authz"
	"endcast/internal/web/webtest"
)

// contract is the document as the server serves it, read by two libraries that do not know
// this program: one for OpenAPI 3.1, one for its schemas, which are JSON Schema 2020-12.
type contract struct {
	*openapi3.T
	schemas *jsonschema.Compiler
}

const documentAt = "https://ends.test/openapi.json"

func (p *testProgram) contract() contract {
	p.t.Helper()
	raw := p.Anonymous().Get("/api/v1/openapi.json").Status(http.StatusOK).Body
	doc, err := openapi3.NewLoader().LoadFromData([]byte(raw))
	require.NoError(p.t, err)
	require.NoError(p.t, doc.Validate(p.ctx, openapi3.IsOpenAPI31OrLater()))
	whole, err := jsonschema.UnmarshalJSON(strings.NewReader(raw))
	require.NoError(p.t, err)
	schemas := jsonschema.NewCompiler()
	schemas.AssertFormat()
	require.NoError(p.t, schemas.AddResource(documentAt, whole))
	return contract{doc, schemas}
}

// fits says in what an answer differs from what the document promises for the address.
func (c contract) fits(method, pattern string, a *webtest.Answer) error {
	at := c.Paths.Value(pattern)
	if at == nil || at.GetOperation(method) == nil {
		return fmt.Errorf("%s %s is not in the document", method, pattern)
	}
	responses := at.GetOperation(method).Responses
	promised, status := responses.Status(a.Response.StatusCode), strconv.Itoa(a.Response.StatusCode)
	if promised == nil {
		promised, status = responses.Default(), "default"
	}
	kind, _, err := mime.ParseMediaType(a.Response.Header.Get("Content-Type"))
	if err != nil {
		return err
	}
	if promised.Value.Content.Get(kind) == nil {
		return fmt.Errorf("%d answers with %s, which the document does not name", a.Response.StatusCode, kind)
	}
	place := documentAt + "#"
	for _, part := range []string{"paths", pattern, strings.ToLower(method), "responses", status, "content", kind, "schema"} {
		place += "/" + url.PathEscape(strings.NewReplacer("~", "~0", "/", "~1").Replace(part)) // RFC 6901, section 6
	}
	schema, err := c.schemas.Compile(place)
	if err != nil {
		return err
	}
	body, err := jsonschema.UnmarshalJSON(strings.NewReader(a.Body))
	if err != nil {
		return err
	}
	return schema.Validate(body)
}

// Every read of the table is asked on a program with every kind of record, and for what
// there is not, without a token and wrongly; each answer is held to the document.
func TestAnswersToProgramsFitTheDocument(t *testing.T) {
	t.Parallel()
	p := newBusyProgram(t, "plain words")
	c := p.contract()
	engineer := p.Token(p.Role(authz.Engineer), authz.Scopes()...)
	parts := p.parts()
	asked := 0
	for _, rt := range p.Server.Addresses() {
		if !strings.HasPrefix(rt.Pattern, "/api/v1") {
			continue
		}
		path := fill(t, rt.Pattern, parts)
		if rt.Method != http.MethodGet {
			continue
		}
		asked++
		require.NoError(t, c.fits(rt.Method, rt.Pattern, engineer.get(path).Status(http.StatusOK)), path)
		if rt.Action == authz.Public {
			continue
		}
		require.NoError(t, c.fits(rt.Method, rt.Pattern, script{p: p}.get(path).Status(http.StatusUnauthorized)), path)
		require.NoError(t, c.fits(rt.Method, rt.Pattern, engineer.get(path+"?colour=red").Status(http.StatusUnprocessableEntity)), path)
		for name := range parts {
			if strings.Contains(rt.Pattern, "{"+name+"}") {
				wrong := maps.Clone(parts)
				wrong[name] = "77"
				require.NoError(t, c.fits(rt.Method, rt.Pattern, engineer.get(fill(t, rt.Pattern, wrong)).Status(http.StatusNotFound)), path)
			}
		}
	}
	require.Equal(t, asked, countReads(c), "the document names the reads of the table and no other")

	const edits = "/api/v1/p/{program}/edits"
	v := p.End("1N-2").End.Version
	for status, a := range map[int]*webtest.Answer{
		http.StatusOK:                    engineer.edit("survey.record", asFound(0.5), endAt("1N-2", v)),
		http.StatusConflict:              engineer.edit("survey.record", asFound(0.5), endAt("1N-2", v)),
		http.StatusUnprocessableEntity:   engineer.edit("survey.erase", nil),
		http.StatusBadRequest:            engineer.ask(http.MethodPost, "/api/v1/p/small/edits", `{`),
		http.StatusForbidden:             p.Token(p.Role(authz.Engineer)).edit("survey.record", asFound(0.5), endAt("1N-2", v)),
		http.StatusRequestEntityTooLarge: engineer.ask(http.MethodPost, "/api/v1/p/small/edits", `{"kind":"`+strings.Repeat("x", 5<<20)+`"}`),
	} {
		require.NoError(t, c.fits(http.MethodPost, edits, a.Status(status)), "%d: %.300s", status, a.Body)
	}
}

func countReads(c contract) int {
	n := 0
	for _, at := range c.Paths.Map() {
		if at.Get != nil {
			n++
		}
	}
	return n
}

// The check above would be worth nothing if it took everything.
func TestAnAnswerThatDiffersFromTheDocumentIsSeen(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	c := p.contract()
	s := p.Token(p.Role(authz.Engineer))
	const pattern = "/api/v1/p/{program}/ends/{end}"
	a := s.get("/api/v1/p/small/ends/1N-1").Status(http.StatusOK)
	require.NoError(t, c.fits(http.MethodGet, pattern, a))
	whole := a.Body
	for name, wrong := range map[string]string{
		"a field of another type": strings.Replace(whole, `"version":`, `"version":"x","was":`, 1),
		"a field that is none":    strings.Replace(whole, `{`, `{"colour":"red",`, 1),
		"nothing":                 `{}`,
	} {
		a.Body = wrong
		require.Error(t, c.fits(http.MethodGet, pattern, a), name)
	}
}
