package web

import (
	"bytes"
	"encoding/json"
	"fmt"
	"net/http"

	"endcast/internal/domain/calc"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
	"endcast/views/sheet"
	"endcast/views/ui"
)

// sheetShow computes an end again from its record, with the working, and prints
// it beside the stored result.
func (s *Server) sheetShow(w http.ResponseWriter, r *http.Request) error {
	e, err := s.openEnd(r)
	if err != nil {
		return err
	}
	if word := r.URL.Query().Get("units"); word != "" {
		if sys, err := units.ParseSystem(word); err == nil {
			e.sys = sys
		}
	}
	pads := repair.NewPads()
	ev, err := e.rec.Evaluate(e.sc, pads)
	if err != nil {
		return err
	}
	v, err := e.sheet(ev, pads)
	if err != nil {
		return err
	}
	p := s.page(r, "Calculation sheet "+e.rec.End.Name, e.crumbs(true)...)
	return s.render(w, r, http.StatusOK, sheet.Page(p, v))
}

// computed is one condition as the sheet has it.
type computed struct {
	key, words string
	ev         *repair.Evaluation
	pad        *calc.Pad
}

// computedParts are the conditions in the order of the sheet: the end as it is
// first, the end as new last.
func computedParts(ev repair.Evaluations, pads *repair.Pads) []computed {
	all := []computed{
		{"corroded", "As corroded", ev.Corroded, pads.Corroded},
		{"as_welded", "Repaired as welded", ev.AsWelded, pads.AsWelded},
		{"repaired", "Repaired as designed", ev.Repaired, pads.Repaired},
		{"as_new", "As new", ev.AsNew, pads.AsNew},
	}
	out := all[:0]
	for _, c := range all {
		if c.ev != nil {
			out = append(out, c)
		}
	}
	return out
}

// sheet gathers the whole sheet.
func (e *endReader) sheet(ev repair.Evaluations, pads *repair.Pads) (sheet.View, error) {
	parts := computedParts(ev, pads)
	stored, err := e.compare(parts, ev.Digest)
	if err != nil {
		return sheet.View{}, err
	}
	other := units.SI
	if e.sys == units.SI {
		other = units.US
	}
	v := sheet.View{Name: e.rec.End.Name, Reading: e.reading(), Units: e.sys.Name(), OtherUnits: other.Name(), OtherHref: e.path("sheet") + "?units=" + string(other),
		BackHref: e.path(), Block: *e.titleBlock(), Stored: stored, Inputs: e.sheetInputs(), Lengths: units.Lengths.Label(e.sys),
		Digest: ev.Digest, Method: string(calc.MethodVersion), Printed: e.when(e.s.store.Today(e.sc.Program)) + ", " + e.zone.String(), Prepared: e.s.user(e.r).Name}
	for i, c := range parts {
		part := e.sheetPart(c, string(rune('A'+i)))
		part.Open = c.key != "as_new" && (c.key != "repaired" || ev.AsWelded == nil) || len(parts) == 1
		v.Parts = append(v.Parts, part)
		v.Summary = append(v.Summary, sheet.Summary{ID: part.ID, Subject: part.Subject, On: part.On, Capacity: part.Capacity, Demand: part.Demand,
			Ratio: part.Ratio, Governs: part.Governs, Verdict: part.Verdict})
	}
	v.Grid, v.Holes = e.sheetReadings()
	v.Studs, v.Figure = e.sheetStuds(), e.elevation()
	v.Basis, v.Unset = e.sheetBasis()
	return v, nil
}

// compare says where the sheet and the stored result differ, in words. They never
// should.
func (e *endReader) compare(parts []computed, digest string) (sheet.Stored, error) {
	var out sheet.Stored
	differs := func(format string, args ...any) { out.Lines = append(out.Lines, fmt.Sprintf(format, args...)) }
	stored := map[string]repair.Result{}
	for _, row := range e.rec.Results {
		stored[row.Subject] = row
	}
	for _, c := range parts {
		row, ok := stored[c.key]
		if !ok {
			differs("%s: nothing is stored", c.words)
			continue
		}
		delete(stored, c.key)
		if row.MethodVersion != string(calc.MethodVersion) {
			differs("%s: stored under version %s of the method, computed now under version %s", c.words, row.MethodVersion, calc.MethodVersion)
		}
		if row.InputDigest != c.ev.Digest {
			differs("%s: the stored result stands on other inputs, %s, than the record has now, %s", c.words, shortDigest(row.InputDigest), shortDigest(c.ev.Digest))
		}
		if row.Capacity != c.ev.Capacity {
			differs("%s: stored capacity %s, computed now %s", c.words, exact(row.Capacity, e.sys), exact(c.ev.Capacity, e.sys))
		}
		if storedVerdict(row.Verdict) != c.ev.Verdict || row.Governing != c.ev.Governing {
			differs("%s: stored as %q by %q, computed now as %q by %q", c.words, row.Verdict, row.Governing, c.ev.Verdict, c.ev.Governing)
		}
		same, err := sameChecks(row.Checks, c.ev.Checks)
		if err != nil {
			return out, err
		}
		if !same {
			differs("%s: the stored checks are not the checks of this sheet", c.words)
		}
	}
	for key := range stored {
		differs("a result is stored for %q, which the record no longer gives", plainWord(key))
	}
	if st := e.state(); st.InputDigest != digest {
		differs("the digest in the list of ends, %s, is not that of this sheet, %s", shortDigest(st.InputDigest), shortDigest(digest))
	}
	out.Agrees = len(out.Lines) == 0
	return out, nil
}

func exact(f units.Force, sys units.System) string {
	return f.Exact(sys) + " " + units.Forces.Label(sys)
}

// sameChecks compares checks in the form in which they are stored. Limits that are
// met are words for the sheet only and are not stored with every check.
func sameChecks(stored []byte, now []calc.Check) (bool, error) {
	var was []calc.Check
	if err := json.Unmarshal(stored, &was); err != nil {
		return false, fmt.Errorf("stored checks: %w", err)
	}
	a, err := json.Marshal(unmetOnly(was))
	if err != nil {
		return false, fmt.Errorf("stored checks: %w", err)
	}
	b, err := json.Marshal(unmetOnly(now))
	if err != nil {
		return false, fmt.Errorf("checks of the sheet: %w", err)
	}
	return bytes.Equal(a, b), nil
}

func unmetOnly(checks []calc.Check) []calc.Check {
	out := make([]calc.Check, len(checks))
	for i, c := range checks {
		var unmet []calc.Limit
		for _, l := range c.Limits {
			if !l.Met {
				unmet = append(unmet, l)
			}
		}
		c.Limits = unmet
		out[i] = c
	}
	return out
}

// partMark is the verdict of a condition.
func partMark(ev *repair.Evaluation) ui.Mark { return verdictMark(ev.Verdict) }
