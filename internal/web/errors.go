package web

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"log/slog"
	"net/http"
	"strings"

	"endcast/internal/domain/fault"
	"endcast/views/problem"
	"endcast/views/ui"
)

// statusGone is what the log shows for a request whose client left before the
// answer. No client ever sees it.
const statusGone = 499

// answers is the one table from a kind of refusal to a status, a title and what
// the person may do about it.
var answers = map[fault.Kind]struct {
	status        int
	title, advice string
}{
	fault.Internal:    {500, "This did not work", "The fault is noted. Nothing was changed. Try again, and if it stays, tell whoever keeps this server the number below."},
	fault.NotFound:    {404, "Not found", "The address may be mistyped, or the thing belongs to a program you have no role in."},
	fault.Forbidden:   {403, "Not allowed", "If you need to do this, ask an administrator of the program."},
	fault.SignIn:      {401, "Sign in first", "What you entered was not stored. Sign in, go back and send it again."},
	fault.Malformed:   {400, "The request could not be read", "Go back, load the page again and repeat."},
	fault.Method:      {405, "This address answers another kind of request", "Go back and use the buttons of the page."},
	fault.Fields:      {422, "Some values could not be taken", "Go back and correct them; nothing was stored."},
	fault.Refused:     {422, "The work does not allow this now", ""},
	fault.Conflict:    {409, "Somebody changed this meanwhile", "Nothing was overwritten. Go back, load the page again, and enter your change on the newer record."},
	fault.Duplicate:   {409, "This exists already", ""},
	fault.TooLarge:    {413, "Too much at once", "Send a smaller file or a shorter text."},
	fault.TooMany:     {429, "Too many attempts", "Wait a minute and try again."},
	fault.Unavailable: {503, "Not available just now", "Try again in a minute."},
}

// fail answers a request with an error. A client that left gets nothing.
func (s *Server) fail(w http.ResponseWriter, r *http.Request, err error) {
	ctx := r.Context()
	if errors.Is(err, context.Canceled) && errors.Is(context.Cause(ctx), ErrStopping) {
		// The client is there still, and has to hear that it may send the same again.
		r = r.WithContext(context.WithoutCancel(ctx))
		ctx = r.Context()
		err = stoppingFault(err)
	}
	if errors.Is(err, ErrStopping) {
		w.Header().Set("Retry-After", "30")
	}
	if errors.Is(err, context.Canceled) && ctx.Err() != nil && !errors.Is(err, ErrStopping) {
		s.log.DebugContext(ctx, "client left", "error", err)
		w.WriteHeader(statusGone)
		return
	}
	err = asTooLarge(err)
	kind := fault.KindOf(err)
	a, ok := answers[kind]
	if !ok {
		a = answers[fault.Internal]
	}
	v := visitOf(ctx)
	if a.status >= 500 {
		s.log.LogAttrs(ctx, slog.LevelError, "request failed", slog.String("request", v.request),
			slog.String("pattern", v.pattern), slog.String("error", err.Error()))
	}
	w.Header().Set("Cache-Control", "no-store")
	if isAPI(r.URL.Path) {
		writeProblem(w, r, a.status, a.title, err)
		return
	}
	if wantsJSON(r) {
		writeProblemJSON(w, a.status, kind, err)
		return
	}
	view := problem.View{Status: a.status, Title: a.title, Message: ui.Sentence(fault.Message(err)), Advice: a.advice, Request: v.request, Back: back(r, v)}
	if bad, ok := errors.AsType[*fault.Invalid](err); ok {
		view.Message, view.Fields = "", bad.Fields
	}
	if rerr := s.render(w, r, a.status, problem.Page(s.page(r, a.title), view)); rerr != nil {
		s.log.ErrorContext(ctx, "error page failed", "request", v.request, "error", rerr)
		w.Header().Set("Content-Type", "text/html; charset=utf-8")
		w.WriteHeader(a.status)
		_, _ = w.Write(s.spare)
	}
}

// spareProblem renders, once at the start, the page for when rendering itself fails.
func spareProblem() ([]byte, error) {
	a := answers[fault.Internal]
	var buf bytes.Buffer
	view := problem.View{Status: a.status, Title: a.title, Advice: a.advice, Back: "/"}
	if err := problem.Page(ui.Page{Title: a.title}, view).Render(context.Background(), &buf); err != nil {
		return nil, fmt.Errorf("render the spare error page: %w", err)
	}
	return buf.Bytes(), nil
}

// wantsJSON reports whether a script of ours asks, rather than a person.
func wantsJSON(r *http.Request) bool {
	return strings.HasPrefix(r.Header.Get("Accept"), "application/json")
}

func writeProblemJSON(w http.ResponseWriter, status int, kind fault.Kind, err error) {
	type field struct {
		Field  string `json:"field"`
		Typed  string `json:"typed"`
		Reason string `json:"reason"`
	}
	out := struct {
		Kind    string  `json:"kind"`
		Message string  `json:"message"`
		Fields  []field `json:"fields,omitempty"`
	}{Kind: kind.String(), Message: fault.Message(err)}
	if bad, ok := errors.AsType[*fault.Invalid](err); ok {
		for _, f := range bad.Fields {
			out.Fields = append(out.Fields, field(f))
		}
	}
	w.Header().Set("Content-Type", "application/json")
	w.WriteHeader(status)
	_ = json.NewEncoder(w).Encode(out)
}

// asTooLarge classifies the error of a body that ran over its limit.
func asTooLarge(err error) error {
	if e, ok := errors.AsType[*http.MaxBytesError](err); ok {
		return fault.Wrap(fault.TooLarge, err, "a request to this page holds at most %d bytes", e.Limit)
	}
	return err
}

// back is where the button of an error page leads.
func back(r *http.Request, v *visit) string {
	if r.Method != http.MethodGet {
		// Most forms are sent to a page below the one they stand on.
		if ref := r.Header.Get("Referer"); ref != "" {
			if path := localPath(ref, r.Host); path != "" {
				return path
			}
		}
	}
	if v.program != nil && r.URL.Path != v.program.Path() {
		return v.program.Path()
	}
	return "/"
}
