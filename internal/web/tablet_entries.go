package web

import (
	"encoding/json"
	"errors"
	"io"
	"net/http"
	"time"

	"endcast/internal/db"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/tablet"
	"endcast/views/ui"
)

// entriesLimit is the largest batch of entries in bytes.
const entriesLimit = 4 << 20

// tabletReply is what a tablet is told about one entry.
type tabletReply struct {
	db.TabletAnswer
	Fields []tabletField `json:"fields,omitempty"`
}

// tabletField is one value that was not taken.
type tabletField struct {
	Field  string `json:"field"`
	Typed  string `json:"typed,omitempty"`
	Reason string `json:"reason"`
}

// States of an answer besides those of the store.
const (
	tabletRefused = "refused" // the tablet keeps it and the inspector sees to it
	tabletLater   = "later"   // nothing was decided: the tablet sends it again
)

// tabletEntries takes a batch of entries, each by itself and in the order in which
// they were made. After one that could not be tried the rest waits, so that nothing
// overtakes it.
func (s *Server) tabletEntries(w http.ResponseWriter, r *http.Request) error {
	raw, err := io.ReadAll(r.Body)
	if err != nil {
		return asTooLarge(err)
	}
	batch, err := tablet.DecodeBatch(raw)
	if err != nil {
		return err
	}
	answers := make([]tabletReply, 0, len(batch.Entries))
	waits := false
	for _, raw := range batch.Entries {
		if waits {
			answers = append(answers, tabletReply{TabletAnswer: db.TabletAnswer{ID: tablet.Named(raw), State: tabletLater}})
			continue
		}
		reply := s.tabletOne(r, raw, batch.Sent, nil)
		waits = reply.State == tabletLater
		answers = append(answers, reply)
	}
	return s.tabletJSON(w, map[string]any{"now": s.now().UTC(), "answers": answers})
}

// tabletOne takes one entry, with its picture if it is one.
func (s *Server) tabletOne(r *http.Request, raw []byte, sent time.Time, picture []byte) tabletReply {
	e, err := tablet.Decode(raw)
	if err == nil {
		err = s.mayTablet(r, e)
	}
	var answer db.TabletAnswer
	if err == nil {
		answer, err = s.store.TakeTabletEntry(r.Context(), db.TabletSent{ProgramID: s.program(r).ID.String(), Actor: s.actor(r), Raw: raw, Entry: e, SentAt: sent, Picture: picture})
	}
	if err == nil {
		return tabletReply{TabletAnswer: answer}
	}
	out := tabletReply{TabletAnswer: db.TabletAnswer{ID: tablet.Named(raw), State: tabletRefused, Reason: ui.Sentence(fault.Message(err))}}
	switch fault.KindOf(err) {
	case fault.Internal, fault.Unavailable:
		s.log.ErrorContext(r.Context(), "tablet entry", "request", visitOf(r.Context()).request, "error", err)
		out.State, out.Reason = tabletLater, "The server could not take it just now. It stays on the tablet and is sent again."
	case fault.Fields:
		out.Reason = "Some values were not taken."
		if bad, ok := errors.AsType[*fault.Invalid](err); ok {
			for _, f := range bad.Fields {
				out.Fields = append(out.Fields, tabletField{f.Field, f.Typed, f.Reason})
			}
		}
	}
	return out
}

// mayTablet refuses an entry that another person made, and one that the role does
// not allow.
func (s *Server) mayTablet(r *http.Request, e tablet.Envelope) error {
	v := visitOf(r.Context())
	if v.user == nil || e.By != v.user.ID.String() {
		return fault.New(fault.Forbidden, "another person made this entry: they must sign in on this tablet to send it")
	}
	if _, ok := e.Kind.Action(); !ok {
		return fault.New(fault.Malformed, "no entry is of the kind %.40q", string(e.Kind))
	}
	if !mayKind(v, e.Kind) {
		return fault.New(fault.Forbidden, "your role does not allow this entry: %s", lower(e.Kind.Words()))
	}
	if e.Kind != tablet.Inspection {
		return nil
	}
	ch, err := e.Change(0)
	if err != nil {
		return nil //nolint:nilerr // the store says what is wrong with it
	}
	if in, ok := ch.(repair.RecordInspection); ok && askedOf(in.Subject) != "" {
		frame, err := s.store.Frame(r.Context(), v.program.ID.String())
		if err != nil {
			return err
		}
		return (&endReader{s: s, r: r, sc: frame}).allowedInspection(in.Subject)
	}
	return nil
}

// tabletJSON answers a script of the tablet. Nothing of it is to be kept by anything
// in between.
func (s *Server) tabletJSON(w http.ResponseWriter, v any) error {
	body, err := json.Marshal(v)
	if err != nil {
		return err
	}
	h := w.Header()
	h.Set("Content-Type", "application/json")
	h.Set("Cache-Control", "no-store")
	_, _ = w.Write(body)
	return nil
}
