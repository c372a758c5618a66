package web

import (
	"net/http"
	"strings"

	"github.com/google/uuid"

	"endcast/internal/db"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
	"endcast/views/settings"
	"endcast/views/ui"
)

// shownBox is the text of a box for a value on record: as it was typed where that
// still reads as the value, else exactly. An optional zero that nobody typed shows
// nothing.
func shownBox(k units.Kind, typed string, v float64, optional bool, sys units.System) string {
	if typed != "" {
		if x, err := k.Parse(typed, sys); err == nil && x == v {
			return typed
		}
	}
	if v == 0 && optional {
		return ""
	}
	return strings.Replace(k.Exact(v, sys), "−", "-", 1)
}

// readBox reads what was typed into a box. A text that was not touched keeps the
// value on record to the last bit; an empty one is zero where that is allowed.
func readBox(bad *fault.Invalid, name, text string, k units.Kind, optional bool, sys units.System, was float64, wasText string) float64 {
	switch {
	case text == wasText && text != "":
		return was
	case text == "" && optional:
		return 0
	case text == "":
		bad.Add(name, "", "is needed")
		return 0
	}
	v, err := k.Parse(text, sys)
	if err != nil {
		bad.Add(name, text, "%s", lengthProblem(err))
	}
	return v
}

// inWords puts reasons in the reader's units and what was typed beside each.
func inWords(bad *fault.Invalid, typed map[string]string, sys units.System) {
	if bad == nil {
		return
	}
	for i, f := range bad.Fields {
		t, ok := typed[f.Field]
		if ok {
			bad.Fields[i].Typed = t
		}
		bad.Fields[i].Reason = newtons(inReaderUnits(feetAndInches(f.Reason, sys), t, sys), sys)
	}
}

// newtons turns the coherent units of forces in a reason into the reader's.
func newtons(reason string, sys units.System) string {
	for _, x := range []struct {
		unit string
		kind units.Kind
	}{{" N/mm2", units.Stresses}, {" N/mm", units.LineLoads}, {" N", units.Forces}} {
		reason = replaceFigure(reason, x.unit, func(v float64) string {
			if x.kind == units.Stresses {
				return areaLoad(v, sys)
			}
			return x.kind.Format(v, sys, -1)
		})
	}
	return reason
}

// foresee applies a change to a copy of a scope and tells what it does to the ends
// of the scope. Nothing is stored.
func (s *Server) foresee(r *http.Request, sc *repair.Scope, change repair.Change) (*repair.Scope, db.Preview, error) {
	now := s.store.Today(sc.Program)
	after := sc.Clone()
	err := change.Apply(after, repair.Context{Actor: s.actor(r), Now: now, Captured: now, NewID: func() string { return uuid.Must(uuid.NewV7()).String() }})
	if err != nil {
		return nil, db.Preview{}, err
	}
	if err = after.Recompute(); err != nil {
		return nil, db.Preview{}, err
	}
	return after, db.Preview{Known: true, Consequences: sc.Consequences(after)}, nil
}

// clashOf puts what was typed beside what is stored now, field by field where they
// differ.
func clashOf(what string, fields []ui.Field, typed, now map[string]string) *settings.Clash {
	c := &settings.Clash{Text: what}
	for _, f := range fields {
		if typed[f.Name] != now[f.Name] {
			c.Rows = append(c.Rows, settings.Beside{Label: f.Label, Yours: orDash(plainOption(f, typed[f.Name])), Stored: orDash(plainOption(f, now[f.Name]))})
		}
	}
	return c
}

func plainOption(f ui.Field, value string) string {
	if len(f.Options) > 0 || value != "" {
		return optionLabel(f, value)
	}
	return ""
}

// boxesOf puts what was typed and why it was not taken into the boxes of a form.
func boxesOf(fields []ui.Field, typed map[string]string, bad *fault.Invalid) map[string]ui.Field {
	out := make(map[string]ui.Field, len(fields))
	for _, f := range fields {
		f.Value = typed[f.Name]
		if p := bad.Of(f.Name); p != nil {
			f.Reason = p.Reason
		}
		out[f.Name] = f
	}
	return out
}
