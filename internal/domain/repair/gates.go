package repair

import (
	"slices"
	"strings"
	"time"

	"endcast/internal/domain/sequence"
	"endcast/internal/domain/uhpc"
	"endcast/internal/domain/units"
)

// Gate is what a gate of this end looks at now.
func (r *Record) Gate(s *Scope, key uhpc.GateKey) uhpc.Gate {
	b := s.Basis()
	g := uhpc.Gate{Key: key, Limit: key.Limit(b), Open: r.openAtGate(s, key)}
	var batches []uhpc.BatchFacts
	var mine []Batch
	for _, p := range s.poursOf(r.End.ID) {
		for _, row := range s.Batches {
			if row.PourID == p.ID && !row.Refused && s.Reached(row, r.End.ID) {
				f := uhpc.BatchFacts{Mark: batchMark(p, row.Number)}
				if row.PlacedAt != nil {
					f.Placed = *row.PlacedAt
				}
				batches, mine = append(batches, f), append(mine, row)
			}
		}
		g.Sets = append(g.Sets, s.setsAt(p, r.End.ID)...)
	}
	// All batches by one measure: the mix where each has it, else the air.
	mix := !slices.ContainsFunc(mine, func(x Batch) bool { return x.MixTemp == nil })
	for i := range batches {
		if batches[i].Temperature = mine[i].AirTemp; mix {
			batches[i].Temperature = mine[i].MixTemp
		}
	}
	g.Governing, g.Unknown = uhpc.GoverningBatches(batches, b)
	g.CuringComplete, g.CuringWhy = r.Curing(s)
	if x := r.LatestInspection("hardened"); x != nil {
		g.HardenedAccepted = x.Outcome == "accepted"
	}
	return g
}

// conditionOf is the condition of the sequence that asks for a gate.
func conditionOf(key uhpc.GateKey) sequence.Condition {
	if key == uhpc.TrafficGate {
		return sequence.TrafficGate
	}
	return sequence.StripGate
}

// openAtGate lists the open nonconformances that stop a gate: those that stop the
// steps which ask for it, or every step.
func (r *Record) openAtGate(s *Scope, key uhpc.GateKey) []string {
	asking := map[string]bool{}
	for _, st := range s.Sequence() {
		if !st.Retired && slices.ContainsFunc(st.Requires, func(q sequence.Requirement) bool { return q.Condition == conditionOf(key) }) {
			asking[st.ID] = true
		}
	}
	var out []string
	for _, n := range r.openOf(s) {
		if len(n.Stops) == 0 || len(asking) == 0 || slices.ContainsFunc(n.Stops, func(id string) bool { return asking[id] }) {
			out = append(out, "nonconformance "+n.Number)
		}
	}
	return out
}

// GateDigest names the evidence of a gate: whatever it rests on gives another one
// when it moves.
func GateDigest(limit units.Stress, o uhpc.Opened) string {
	type line struct {
		Rule, Batch, Text string
		Value, Limit      float64
		Met               bool
	}
	list := []line{{Rule: "limit", Value: float64(limit)}}
	for _, e := range o.Evidence {
		list = append(list, line{e.Rule, e.Batch, e.Text, e.Value, e.Limit, e.Met})
	}
	return digestOf(list)
}

// GateStanding is a gate of an end as it stands.
type GateStanding struct {
	Key    uhpc.GateKey
	Gate   uhpc.Gate
	Opened uhpc.Opened
	Digest string
	// Last is the last decision, nil without one; Current tells that the evidence is
	// still that of its hour.
	Last    *GateDecision
	Current bool
}

// Passed reports whether the gate is passed: decided so, on the evidence of now.
func (g GateStanding) Passed() bool {
	return g.Last != nil && g.Last.Decision == GatePassed && g.Current
}

// GateNow evaluates a gate of this end on the record as it is.
func (r *Record) GateNow(s *Scope, key uhpc.GateKey) GateStanding {
	g := GateStanding{Key: key, Gate: r.Gate(s, key)}
	g.Opened = g.Gate.Evaluate(nil, s.Basis())
	g.Digest = GateDigest(g.Gate.Limit, g.Opened)
	for i := range r.Gates {
		x := &r.Gates[i]
		if x.Gate == string(key) && (g.Last == nil || x.At.After(g.Last.At)) {
			g.Last = x
		}
	}
	g.Current = g.Last != nil && g.Last.Digest == g.Digest
	return g
}

// gateFact is a gate as the sequence reads it. Nothing is evaluated where nothing is
// cast.
func (r *Record) gateFact(s *Scope, key uhpc.GateKey) sequence.Gate {
	if len(s.poursOf(r.End.ID)) == 0 {
		return sequence.Gate{}
	}
	g := r.GateNow(s, key)
	if g.Passed() {
		return sequence.Gate{Passed: true}
	}
	sys := units.System(s.Program.Units)
	w := sequence.Block{Reason: sequence.GateUndecided, Actor: sequence.Engineer}
	var said []string
	if l := g.Last; l != nil {
		switch {
		case !g.Current:
			said = append(said, l.Decision+" by "+l.ByName+", and what it stood on has changed since")
		case l.Decision == GateRefused:
			said = append(said, "refused by "+l.ByName+": "+l.Reasons)
		}
		w.Since = l.At
	}
	if e, ok := firstUnmet(g.Opened); ok {
		w.Since = time.Time{}
		said = append(said, e.Line(sys))
		switch e.Rule {
		case "spread":
			w.Reason = sequence.SetHeld
		case "curing":
			w.Reason, w.Actor = sequence.CuringMissing, sequence.Contractor
		case "nonconformance":
			w.Reason = sequence.NonconformanceOpen
		case "hardened":
			w.Reason, w.Actor = sequence.InspectionMissing, sequence.Inspector
		case "governing":
			w.Reason, w.Actor = sequence.BatchUndecided, sequence.Inspector
		default:
			w.Reason, w.Actor = sequence.WaitingStrength, sequence.Laboratory
			if e.Rule == "mean" {
				w.Gap = &sequence.StrengthGap{Reached: units.Stress(e.Value), Wanted: units.Stress(e.Limit)}
			}
		}
	} else if len(said) == 0 {
		said = append(said, "the rule is met; a named person decides")
	}
	w.Detail = strings.Join(said, "; ")
	return sequence.Gate{Waits: w}
}

// firstUnmet is the line of a gate's rule that most keeps it shut: what only time and
// breaks bring comes after what a person must do first.
func firstUnmet(o uhpc.Opened) (uhpc.Evidence, bool) {
	for _, rule := range []string{"spread", "governing", "set", "count", "mean", "each", "later"} {
		for _, e := range o.Evidence {
			if e.Rule == rule && !e.Met {
				return e, true
			}
		}
	}
	for _, e := range o.Evidence {
		if !e.Met {
			return e, true
		}
	}
	return uhpc.Evidence{}, false
}
