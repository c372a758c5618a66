package repair

import (
	"encoding/json"
	"slices"
	"strings"

	"endcast/internal/domain/fault"
	"endcast/internal/domain/monitor"
	"endcast/internal/domain/sequence"
	"endcast/internal/domain/units"
)

// Results of a verdict as rows keep them.
const (
	VerdictEngaged    = "engaged"
	VerdictNotEngaged = "not_engaged"
	VerdictNotEnough  = "not_enough"
	VerdictIndicative = "indicative"
)

// ResultOf is a verdict of package monitor as rows keep it.
func ResultOf(v monitor.Verdict) string {
	switch v {
	case monitor.Engaged:
		return VerdictEngaged
	case monitor.NotEngaged:
		return VerdictNotEngaged
	case monitor.IndicativeOnly:
		return VerdictIndicative
	}
	return VerdictNotEnough
}

// MeaningVerdict is what the engineer says with a verdict.
const MeaningVerdict = "I looked at the sensors, the recordings and what screening found in them, the passages of both states and their intervals, and confirm this verdict on the load path of the repair."

// ConfirmVerdict is the engineer's word on the verdict that the strain records give.
// Judgment is worked out from the record at the moment of confirming; Digest is that of
// what it was worked out from.
type ConfirmVerdict struct {
	From     string           `json:"from"` // digest of what the engineer looked at
	Digest   string           `json:"digest"`
	Judgment monitor.Judgment `json:"judgment"`
	Note     string           `json:"note"`
}

// Kind implements Change.
func (ConfirmVerdict) Kind() string { return "strain.confirm" }

// Apply implements Change. Where what was measured lies beyond what was foreseen, a
// nonconformance is raised with it, once.
func (ch ConfirmVerdict) Apply(s *Scope, c Context) error {
	r, err := s.One()
	if err != nil {
		return err
	}
	var bad fault.Invalid
	tooLong(&bad, "note", ch.Note, 4000)
	if err := bad.Err(); err != nil {
		return err
	}
	now := r.StrainDigest(s)
	if err := from(ch.From, now, "recordings, sensors or settings"); err != nil {
		return err
	}
	if ch.Digest != now {
		return fault.New(fault.Conflict, "recordings, sensors or settings changed since the verdict was worked out; nothing was stored")
	}
	if len(r.CountedRecordings()) == 0 {
		return fault.New(fault.Refused, "no strain was recorded at this end: there is nothing to confirm")
	}
	if v := r.LatestVerdict(); v != nil && v.Digest == now {
		return fault.New(fault.Refused, "%s confirmed the verdict on these same records already", v.ByName)
	}
	text, err := json.Marshal(ch.Judgment)
	if err != nil {
		return fault.New(fault.Malformed, "the verdict cannot be written down: %s", err.Error())
	}
	decided, err := ch.Judgment.Decided.MarshalText()
	if err != nil {
		return err
	}
	r.Verdicts = append(r.Verdicts, StrainVerdict{ID: c.NewID(), EndID: r.End.ID, Result: ResultOf(ch.Judgment.Verdict), Decided: string(decided), Words: ch.Judgment.Words,
		Method: ch.Judgment.Method, Digest: now, Judgment: string(text), Note: ch.Note, Meaning: MeaningVerdict,
		ByUser: c.Actor.ID, ByName: c.Actor.Name, ByRole: string(c.Actor.Role), At: c.Now})
	return ch.raise(s, r, c)
}

// disagreements are the findings that are a departure from the design.
var disagreements = map[string]string{
	"share":     "load share as foreseen by the design",
	"reduction": "fall of web strain as foreseen by the design",
	"slip":      "slip under a truck within the design",
	"gauges":    "web and panel gauges that add up",
}

// raise raises one nonconformance for all that disagrees, unless an open one says so
// already.
func (ch ConfirmVerdict) raise(s *Scope, r *Record, c Context) error {
	var asked, found []string
	for _, f := range ch.Judgment.Finding {
		if d := disagreements[f.Key]; d != "" {
			if !slices.Contains(asked, d) {
				asked = append(asked, d)
			}
			found = append(found, f.Words)
		}
	}
	if len(found) == 0 {
		return nil
	}
	requirement := "Strain records: " + strings.Join(asked, ", ")
	for _, n := range r.Nonconformances {
		if n.ClosedAt == nil && n.Requirement == requirement {
			return nil
		}
	}
	stops := []string{}
	for _, st := range s.Sequence() {
		if !st.Retired && slices.ContainsFunc(st.Requires, func(q sequence.Requirement) bool {
			return q.Condition == sequence.VerdictEngaged || q.Condition == sequence.VerdictConfirmed
		}) {
			stops = append(stops, st.Code)
		}
	}
	return RaiseNonconformance{Requirement: requirement, Found: strings.Join(found, "; "), Stops: stops}.Apply(s, c)
}

// SetStrainSetup names what strains are turned into forces with.
type SetStrainSetup struct {
	WebEA      *units.Force `json:"web_ea"`
	PanelEA    *units.Force `json:"panel_ea"`
	WebError   float64      `json:"web_error"`
	PanelError float64      `json:"panel_error"`
	DesignSlip units.Length `json:"design_slip"`
	Source     string       `json:"source"`
}

// Kind implements Change.
func (SetStrainSetup) Kind() string { return "strain.setup" }

// Apply implements Change.
func (ch SetStrainSetup) Apply(s *Scope, c Context) error {
	r, err := s.One()
	if err != nil {
		return err
	}
	var bad fault.Invalid
	for _, f := range []struct {
		name string
		v    *units.Force
	}{{"web_ea", ch.WebEA}, {"panel_ea", ch.PanelEA}} {
		if f.v != nil && !(*f.v > 0 && *f.v < 1e14) {
			bad.Add(f.name, number(float64(*f.v)), "must be above 0")
		}
	}
	within(&bad, "web_error", ch.WebError, 0, 1)
	within(&bad, "panel_error", ch.PanelError, 0, 1)
	within(&bad, "design_slip", float64(ch.DesignSlip), 0, 100)
	sourced(&bad, ch.Source, "say where the stiffnesses come from")
	if err := bad.Err(); err != nil {
		return err
	}
	row := StrainSetup{EndID: r.End.ID, WebEA: ch.WebEA, PanelEA: ch.PanelEA, WebError: ch.WebError, PanelError: ch.PanelError, DesignSlip: ch.DesignSlip, Source: ch.Source,
		SetBy: c.Actor.ID, SetByName: c.Actor.Name, SetAt: c.Now}
	r.StrainSetup = []StrainSetup{row}
	return nil
}
