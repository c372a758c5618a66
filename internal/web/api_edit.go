package web

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"mime"
	"net/http"
	"slices"
	"time"

	"github.com/google/uuid"

	"endcast/internal/db"
	"endcast/internal/domain/authz"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/sequence"
	"endcast/internal/domain/uhpc"
)

// askEntry is one edit as a program sends it.
type askEntry struct {
	Kind     string          `json:"kind"`
	Entry    string          `json:"entry"`
	Captured time.Time       `json:"captured"`
	Ends     []askEndRef     `json:"ends"`
	Change   json.RawMessage `json:"change"`
}

type askEndRef struct {
	End     string `json:"end"` // name or identifier
	Version int64  `json:"version"`
}

// askReceipt is the answer to an edit: its number in the journal, and the version that
// each end it concerned has now.
type askReceipt struct {
	Entry    string           `json:"entry"`
	Number   int64            `json:"number"`
	Repeated bool             `json:"repeated"` // it was sent before, and this is the first answer
	Versions map[string]int64 `json:"versions"` // by identifier of the end
}

// mostEndsOfEntry bounds the ends of one entry.
const mostEndsOfEntry = 200

// askEdit takes one edit through the one door, as the pages do.
func (s *Server) askEdit(w http.ResponseWriter, r *http.Request) error {
	if kind, _, err := mime.ParseMediaType(r.Header.Get("Content-Type")); err != nil || kind != "application/json" {
		return fault.New(fault.Malformed, "send the entry as application/json")
	}
	in, err := readEntry(r.Body)
	if err != nil {
		return err
	}
	l, err := repair.ListedAs(in.Kind)
	if err != nil {
		return err
	}
	v := visitOf(r.Context())
	if !authz.MayAtSomeStep(v.person, v.program.ID, l.Action) || (!l.Named && !authz.Can(v.person, v.program.ID, l.Action)) {
		scope, _ := authz.ScopeOf(l.Action)
		return fault.New(fault.Forbidden, "%s needs the right %s in this program, and the scope %s of the token", l.Kind, l.Action, scope)
	}
	change, err := l.Read(in.Change)
	if err != nil {
		return err
	}
	refs, err := s.endsOfEntry(r, l, in.Ends)
	if err != nil {
		return err
	}
	if err := s.mayChange(r, change, refs); err != nil {
		return err
	}
	rec, err := s.store.Edit(r.Context(), db.Entry{ID: in.Entry, ProgramID: v.program.ID.String(), Actor: s.actor(r), Captured: in.Captured,
		Ends: refs, AllEnds: l.Place == repair.AtProgram, Change: change})
	if stale, ok := errors.AsType[*db.Stale](err); ok {
		return fault.Wrap(fault.Conflict, err, "%s", stale.Error())
	}
	if err != nil {
		return err
	}
	return writeAnswer(w, askReceipt{Entry: rec.EntryID, Number: rec.Seq, Repeated: rec.Repeated, Versions: rec.Versions})
}

// readEntry reads the envelope of an edit strictly: a field that is not known is a
// mistake, and no mistake may be stored.
func readEntry(body io.Reader) (askEntry, error) {
	var in askEntry
	dec := json.NewDecoder(body)
	dec.DisallowUnknownFields()
	err := dec.Decode(&in)
	if err == nil && dec.More() {
		err = fmt.Errorf("there is more than one value")
	}
	if k := fault.KindOf(asTooLarge(err)); k == fault.TooLarge {
		return in, asTooLarge(err)
	}
	if err != nil {
		return in, fault.Wrap(fault.Malformed, err, "the entry could not be read: %s", err)
	}
	if !plainText(string(in.Change)) || !plainText(in.Kind) || hasNUL(in.Change) {
		return in, fault.New(fault.Malformed, "the entry holds bytes that are no text")
	}
	var bad fault.Invalid
	if id, err := uuid.Parse(in.Entry); err != nil || id == uuid.Nil {
		bad.Add("entry", in.Entry, "must be a UUID that you make, and send again with the same entry")
	}
	if len(in.Ends) > mostEndsOfEntry {
		bad.Add("ends", fmt.Sprint(len(in.Ends)), "an entry names at most %d ends", mostEndsOfEntry)
	}
	return in, bad.Err()
}

// hasNUL finds the one character that JSON may write and the database cannot hold.
func hasNUL(change json.RawMessage) bool {
	var v any
	if json.Unmarshal(change, &v) != nil {
		return false // Read says what is wrong with it
	}
	var in func(any) bool
	in = func(v any) bool {
		switch x := v.(type) {
		case string:
			return !plainText(x)
		case []any:
			return slices.ContainsFunc(x, in)
		case map[string]any:
			for k, y := range x {
				if !plainText(k) || in(y) {
					return true
				}
			}
		}
		return false
	}
	return in(v)
}

// endsOfEntry finds the ends that an entry names, all in this program.
func (s *Server) endsOfEntry(r *http.Request, l repair.Listed, sent []askEndRef) ([]db.EndRef, error) {
	var bad fault.Invalid
	switch {
	case l.Place == repair.AtOneEnd && len(sent) != 1:
		bad.Add("ends", fmt.Sprint(len(sent)), "%s concerns exactly one end", l.Kind)
	case (l.Place == repair.AtNone || l.Place == repair.AtProgram) && len(sent) != 0:
		bad.Add("ends", fmt.Sprint(len(sent)), "%s names no ends: what it concerns follows from it", l.Kind)
	}
	names := make([]string, len(sent))
	for i, e := range sent {
		names[i] = e.End
		if !plainText(e.End) {
			return nil, fault.New(fault.Malformed, "the entry holds bytes that are no text")
		}
		if e.Version < 1 && (!l.Fresh || e.Version < 0) {
			bad.Add(fmt.Sprintf("ends.%d.version", i), fmt.Sprint(e.Version), "must be the version of %s that this was made from, 1 or more", e.End)
		}
	}
	if err := bad.Err(); err != nil || len(sent) == 0 {
		return nil, err
	}
	known, err := s.store.EndIDs(r.Context(), s.program(r).ID.String(), names)
	if err != nil {
		return nil, err
	}
	refs := make([]db.EndRef, len(sent))
	for i, e := range sent {
		id, ok := known[e.End]
		if !ok {
			bad.Add(fmt.Sprintf("ends.%d.end", i), e.End, "there is no such girder end in this program")
			continue
		}
		if slices.ContainsFunc(refs[:i], func(x db.EndRef) bool { return x.ID == id }) {
			bad.Add(fmt.Sprintf("ends.%d.end", i), e.End, "is named twice")
		}
		refs[i] = db.EndRef{ID: id, Version: e.Version}
	}
	return refs, bad.Err()
}

// mayChange asks what the table of rights alone cannot answer, as the page of each of
// these changes does.
func (s *Server) mayChange(r *http.Request, change repair.Change, refs []db.EndRef) error {
	refuse := func(ok bool, what string) error {
		if ok {
			return nil
		}
		return fault.New(fault.Forbidden, "your role and this token do not allow it: %s", what)
	}
	switch ch := change.(type) {
	case repair.SetWindow:
		return refuse(ch.Window.State != repair.WindowGranted || s.can(r, authz.GrantWindow), "a window is granted by the owner's engineer or an administrator")
	case repair.DecideGate:
		return refuse(s.can(r, gateAction(uhpc.GateKey(ch.Gate))), "this gate")
	case repair.StepAct, repair.RecordInspection, repair.CloseNonconformance:
		sc, err := s.store.Ends(r.Context(), s.program(r).ID.String(), []string{refs[0].ID})
		if err != nil {
			return err
		}
		e, err := s.readEnd(r, sc)
		if err != nil {
			return err
		}
		return s.mayAtEnd(e, ch, refuse)
	}
	return nil
}

func (s *Server) mayAtEnd(e *endReader, change repair.Change, refuse func(bool, string) error) error {
	switch ch := change.(type) {
	case repair.StepAct:
		steps := e.sc.Sequence()
		i := slices.IndexFunc(steps, func(st sequence.Step) bool { return st.ID == ch.StepID })
		if i < 0 {
			var bad fault.Invalid
			bad.Add("change.step_id", ch.StepID, "the sequence has no such step")
			return bad.Err()
		}
		return refuse(s.mayAct(e, steps[i], ch.Act), steps[i].Name)
	case repair.RecordInspection:
		return e.allowedInspection(ch.Subject)
	case repair.CloseNonconformance:
		for _, n := range e.rec.Nonconformances {
			if n.Number == ch.Number {
				return refuse(n.Disposition == "" || n.MayClose(s.actor(e.r).Role), fmt.Sprintf("nonconformance %d", n.Number))
			}
		}
	}
	return nil
}
