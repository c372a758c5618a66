package web

import (
	"net/http"
	"slices"
	"strconv"

	"github.com/go-chi/chi/v5"

	"endcast/internal/db"
	"endcast/internal/domain/authz"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/sequence"
	"endcast/internal/domain/uhpc"
	"endcast/views/field"
	"endcast/views/ui"
)

// gateAction is what a person must be allowed to decide a gate.
func gateAction(key uhpc.GateKey) authz.Action {
	if key == uhpc.TrafficGate {
		return authz.DecideTraffic
	}
	return authz.DecideStrip
}

// openGate reads the gate of the address.
func (s *Server) openGate(r *http.Request) (*endReader, uhpc.GateKey, error) {
	key := uhpc.GateKey(chi.URLParam(r, "gate"))
	if key != uhpc.StripGate && key != uhpc.TrafficGate {
		return nil, "", fault.New(fault.NotFound, "a gate is strip or traffic")
	}
	e, err := s.openEnd(r)
	return e, key, err
}

// gateShow is the page of a gate of an end.
func (s *Server) gateShow(w http.ResponseWriter, r *http.Request) error {
	e, key, err := s.openGate(r)
	if err != nil {
		return err
	}
	return e.gatePage(w, http.StatusOK, key, nil, field.Sent{})
}

// gateDecide passes or refuses a gate.
func (s *Server) gateDecide(w http.ResponseWriter, r *http.Request) error {
	e, key, err := s.openGate(r)
	if err != nil {
		return err
	}
	if !s.can(r, gateAction(key)) {
		return fault.New(fault.Forbidden, "your role does not decide this gate")
	}
	f, err := e.typed()
	if err != nil {
		return err
	}
	refs, err := seen(r, e.rec.End.ID)
	if err != nil {
		return err
	}
	ch := repair.DecideGate{Gate: string(key), Decision: f.text("decision"), Reasons: f.text("reasons"), From: f.text("from")}
	if _, err = s.edit(r, refs, f.captured(), ch); err == nil {
		s.flash(r, ui.Done, "The gate is "+ch.Decision+".")
		return seeOther(w, r, e.path("gates", string(key)))
	}
	status := http.StatusUnprocessableEntity
	if _, stale := err.(*db.Stale); stale {
		status = http.StatusConflict
	} else if !refusedForm(err) {
		return err
	}
	fresh, key, again := s.openGate(r)
	if again != nil {
		return again
	}
	return fresh.gatePage(w, status, key, f, f.sent(err))
}

func (e *endReader) gatePage(w http.ResponseWriter, status int, key uhpc.GateKey, f *typedForm, sent field.Sent) error {
	g := e.rec.GateNow(e.sc, key)
	v := field.Gate{Head: e.head(), Title: key.Words(), State: ui.Mark{State: ui.Wait, Text: "shut"},
		Caution: "A forecast opens no gate. The gate supports the engineer in charge and replaces no one: the contract and local codes govern."}
	switch {
	case g.Passed():
		v.State, v.Said = ui.Mark{State: ui.Good, Text: "passed"}, "Passed by "+g.Last.ByName+", "+e.when(g.Last.At)+"."
	case g.Last != nil && !g.Current:
		v.State, v.Said = ui.Mark{State: ui.Caution, Text: "out of date"}, "What the last decision stood on has changed: decide anew."
	case g.Last != nil:
		v.State, v.Said = ui.Mark{State: ui.Stop, Text: "refused"}, "Refused by "+g.Last.ByName+", "+e.when(g.Last.At)+"."
	case g.Opened.Open:
		v.State, v.Said = ui.Mark{State: ui.Wait, Text: "not decided"}, "Now the rule is met; a named person decides."
	}
	for _, x := range g.Opened.Evidence {
		l := field.GateLine{Mark: ui.Mark{State: ui.Good, Text: "met"}, Text: x.Line(e.sys)}
		if !x.Met {
			l.Mark = ui.Mark{State: ui.Stop, Text: "not met"}
		}
		v.Lines = append(v.Lines, l)
	}
	past := slices.Clone(e.rec.Gates)
	slices.SortFunc(past, func(a, b repair.GateDecision) int { return b.At.Compare(a.At) })
	for _, d := range past {
		if d.Gate == string(key) {
			text := d.Meaning
			if d.Reasons != "" {
				text += " " + d.Reasons
			}
			v.Past = append(v.Past, field.Fact{Label: sentenceCase(d.Decision) + ", mean " + d.Mean.Format(e.sys, 2) + ", limit " + d.Limit.Format(e.sys, 2), Text: text,
				By: d.ByName + ", " + sequence.RoleWords(sequence.Role(d.ByRole)) + ", " + e.when(d.At)})
		}
	}
	if e.s.can(e.r, gateAction(key)) {
		reasons := ""
		if f != nil {
			reasons = f.text("reasons")
		}
		v.Form = &field.GateForm{Sent: sent, Action: e.path("gates", string(key)), Version: strconv.FormatInt(e.rec.End.Version, 10), From: g.Digest, MayPass: g.Opened.Open && !g.Passed(),
			Meaning: repair.GateMeaning(key, repair.GatePassed),
			Reasons: ui.Field{Name: "reasons", Label: "Reasons", Hint: "Needed to refuse.", Value: reasons, Rows: 3, Optional: true}.With(sent.Bad)}
	}
	p := e.s.page(e.r, "Gate: "+key.Words(), ui.Crumb{Label: e.rec.End.Name, Href: e.path()})
	p.Field, p.Block = true, e.titleBlock()
	return e.s.render(w, e.r, status, field.GatePage(p, v))
}
