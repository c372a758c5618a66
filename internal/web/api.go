package web

import (
	"encoding/base64"
	"encoding/json"
	"errors"
	"net/http"
	"net/url"
	"reflect"
	"strconv"
	"strings"
	"time"

	"endcast/internal/db"
	"endcast/internal/domain/authz"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
	"endcast/internal/web/apidoc"
)

// askTable lists every address that programs ask. The handlers of reads return what they
// answer, and its type is what the document tells.
func (s *Server) askTable() []route {
	return []route{
		on(get, apiPrefix+"v1/openapi.json", authz.Public, s.askDocument).asks(apidoc.Operation{Summary: "This document"}),
		asks(apiPrefix+"v1/me", authz.OwnToken, "Who asks, where, and within which scopes", s.askMe),
		asks(apiPrefix+"v1/programs", authz.OwnToken, "The program of the token", s.askPrograms),

		asks(apiProgram, authz.SeeProgram, "Title facts of the program", s.askProgram),
		asks(apiProgram+"/bridge", authz.SeeProgram, "Supports, spans, sections and the steps of the sequence", s.askBridge),
		asks(apiProgram+"/ends", authz.SeeProgram, "Ends along the bridge, with where each stands", s.askEnds, append([]apidoc.Param{
			{Name: "q", Words: "beginning of a name, a support or a section"}, {Name: "step", Words: "code of the next step"}, {Name: "track", Words: "what kind of thing blocks it"},
			{Name: "reason", Words: "what blocks it"}, {Name: "support", Words: "code of the support"}, {Name: "access", Words: "kind of access"}, {Name: "span", Words: "number of the span", Whole: true},
			{Name: "show", Words: "open, closed, short, outofdate, nonconformance or review"}}, paged...)...),
		asks(apiProgram+"/ends/{end}", authz.SeeProgram, "One end: as built, results, where it stands and what blocks it", s.askEnd),
		asks(apiProgram+"/ends/{end}/surveys", authz.SeeProgram, "Surveys of an end with their readings and holes", s.askSurveys),
		asks(apiProgram+"/ends/{end}/designs", authz.SeeProgram, "Design revisions of an end with their studs and reviews", s.askDesigns),
		asks(apiProgram+"/ends/{end}/field", authz.SeeProgram, "What was recorded at an end on site", s.askField),
		asks(apiProgram+"/pours", authz.SeeProgram, "Castings in order of number, with batches and ends", s.askPours, paged...),
		asks(apiProgram+"/pours/{number}", authz.SeeProgram, "One casting with batches, ends and specimens", s.askPour),
		asks(apiProgram+"/specimens", authz.SeeProgram, "Specimens in order of mark", s.askSpecimens, paged...),
		asks(apiProgram+"/nonconformances", authz.SeeProgram, "Nonconformances in order of number", s.askNonconformances,
			append([]apidoc.Param{{Name: "end", Words: "name of an end"}, {Name: "show", Words: "open or closed"}}, paged...)...),
		asks(apiProgram+"/windows", authz.SeeProgram, "Access windows", s.askWindows),
		asks(apiProgram+"/journal", authz.SeeHistory, "Entries of the journal, the newest first", s.askJournal, append([]apidoc.Param{{Name: "end", Words: "name of an end"}}, paged...)...),
		on(post, apiProgram+"/edits", authz.SeeProgram, s.askEdit).upTo(askLimit).asks(apidoc.Operation{Summary: "One edit of the record", Out: reflect.TypeFor[askReceipt](), Edits: true}),
	}
}

// asks says what programs get at the route.
func (rt route) asks(op apidoc.Operation) route {
	rt.ask = &op
	return rt
}

// asks is a read: what f returns is the answer.
func asks[T any](pattern string, a authz.Action, summary string, f func(*http.Request) (T, error), query ...apidoc.Param) route {
	return on(get, pattern, a, func(w http.ResponseWriter, r *http.Request) error {
		if err := knownQuery(r.URL.Query(), query); err != nil {
			return err
		}
		out, err := f(r)
		if err != nil {
			return err
		}
		return writeAnswer(w, out)
	}).asks(apidoc.Operation{Summary: summary, Query: query, Out: reflect.TypeFor[T]()})
}

// knownQuery refuses a name that the address does not know: a misspelled filter must not
// quietly answer with everything.
func knownQuery(q url.Values, known []apidoc.Param) error {
	var bad fault.Invalid
	for name, values := range q {
		found := false
		for _, k := range known {
			if k.Name != name {
				continue
			}
			found = true
			if n, err := strconv.Atoi(values[0]); k.Whole && (err != nil || n < 0) {
				bad.Add(name, values[0], "must be a whole number from 0")
			}
		}
		if !found {
			bad.Add(name, values[0], "this address takes no such filter")
		}
		if len(values) > 1 || !plainText(values[0]) {
			bad.Add(name, values[0], "must be one text")
		}
	}
	return bad.Err()
}

// Pages of lists.
const (
	askPage     = 100
	askMostRows = 500
	askLimit    = 4 << 20
)

var paged = []apidoc.Param{{Name: "limit", Words: "at most so many, from 1 to 500; left out: 100", Whole: true}, {Name: "after", Words: "the cursor next of the page before"}}

// list is one page of a list. Next is the cursor of the page after; empty on the last.
type list[T any] struct {
	Items []T    `json:"items"`
	Next  string `json:"next"`
}

// pageOf cuts rows, one more of which was read than is wanted, and names the next page.
func pageOf[T any](rows []T, size int, key func(T) string) list[T] {
	out := list[T]{Items: rows}
	if len(rows) > size {
		out.Items = rows[:size]
		out.Next = base64.RawURLEncoding.EncodeToString([]byte(key(rows[size-1])))
	}
	if out.Items == nil {
		out.Items = []T{}
	}
	return out
}

// pageAsked reads how many are wanted, and after what.
func pageAsked(r *http.Request) (size int, after string, err error) {
	q := r.URL.Query()
	size = askPage
	var bad fault.Invalid
	if text := q.Get("limit"); text != "" {
		if size, err = strconv.Atoi(text); err != nil || size < 1 || size > askMostRows {
			bad.Add("limit", text, "must be from 1 to %d", askMostRows)
		}
	}
	raw, err := base64.RawURLEncoding.DecodeString(q.Get("after"))
	if err != nil || !plainText(string(raw)) || len(raw) > 400 {
		bad.Add("after", q.Get("after"), "is no cursor of this list")
	}
	return size, string(raw), bad.Err()
}

// numberAsked is pageAsked for a list in order of a number.
func numberAsked(r *http.Request) (size int, after int64, err error) {
	size, text, err := pageAsked(r)
	if err != nil || text == "" {
		return size, 0, err
	}
	if after, err = strconv.ParseInt(text, 10, 64); err != nil || after < 0 {
		var bad fault.Invalid
		bad.Add("after", r.URL.Query().Get("after"), "is no cursor of this list")
		return size, 0, bad.Err()
	}
	return size, after, nil
}

func writeAnswer(w http.ResponseWriter, v any) error {
	body, err := json.Marshal(v)
	if err != nil {
		return err
	}
	w.Header().Set("Content-Type", "application/json")
	w.Header().Set("Cache-Control", "private, no-cache")
	_, _ = w.Write(body)
	return nil
}

// askProblem is a refusal in the form of RFC 9457.
type askProblem struct {
	Type     string          `json:"type"`
	Title    string          `json:"title"`
	Status   int             `json:"status"`
	Detail   string          `json:"detail,omitempty"`
	Instance string          `json:"instance"`
	Errors   []askFieldFault `json:"errors,omitempty"` // one for each value that was not taken
	Stale    *askStale       `json:"stale,omitempty"`  // of an edit that was made on an older version
}

// askFieldFault is one value that was not taken. Limit says in words what would be.
type askFieldFault struct {
	Field string `json:"field"`
	Value string `json:"value"`
	Limit string `json:"limit"`
}

type askStale struct {
	End       string    `json:"end"`
	Sent      int64     `json:"sent"`
	Now       int64     `json:"now"`
	ChangedBy string    `json:"changed_by"`
	ChangedAt time.Time `json:"changed_at"`
}

// writeProblem answers a program with a refusal.
func writeProblem(w http.ResponseWriter, r *http.Request, status int, title string, err error) {
	kind := fault.KindOf(err)
	p := askProblem{Type: "urn:endcast:problem:" + strings.ReplaceAll(kind.String(), " ", "-"), Title: title, Status: status, Detail: fault.Message(err),
		Instance: "urn:endcast:request:" + visitOf(r.Context()).request}
	if bad, ok := errors.AsType[*fault.Invalid](err); ok {
		for _, f := range bad.Fields {
			p.Errors = append(p.Errors, askFieldFault{f.Field, f.Typed, f.Reason})
		}
	}
	if st, ok := errors.AsType[*db.Stale](err); ok {
		p.Stale = &askStale{st.Name, st.Saw, st.Now, st.By, st.At}
	}
	w.Header().Set("Content-Type", "application/problem+json")
	w.WriteHeader(status)
	_ = json.NewEncoder(w).Encode(p)
}

// document is what programs may ask, from the routes and the changes themselves.
func (s *Server) document() map[string]any {
	var routes []apidoc.Route
	for _, rt := range s.routes {
		if rt.ask == nil {
			continue
		}
		scope, _ := authz.ScopeOf(rt.action)
		routes = append(routes, apidoc.Route{Method: rt.method, Path: rt.pattern, Action: string(rt.action), Scope: string(scope), Operation: *rt.ask})
	}
	var edits []apidoc.Edit
	for _, l := range repair.Catalogue() {
		scope, _ := authz.ScopeOf(l.Action)
		edits = append(edits, apidoc.Edit{Kind: l.Kind, Action: string(l.Action), Scope: string(scope), Place: string(l.Place), Fresh: l.Fresh, Body: l.Type})
	}
	return apidoc.Build(s.cfg.Release, routes, edits, reflect.TypeFor[askProblem]())
}

// askDocument answers with the document. It tells nothing of what is stored, so anyone
// may read it.
func (s *Server) askDocument(w http.ResponseWriter, r *http.Request) error {
	return writeAnswer(w, s.document())
}
