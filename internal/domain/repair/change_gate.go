package repair

import (
	"strings"

	"endcast/internal/domain/fault"
	"endcast/internal/domain/uhpc"
	"endcast/internal/domain/units"
)

// Decisions on a gate.
const (
	GatePassed  = "passed"
	GateRefused = "refused"
)

// What a signer says with a decision on a gate.
const (
	MeaningStripPassed   = "I looked at the breaks of the governing batch, the curing record and what is open at this end, and release the form to be stripped and load to be put on."
	MeaningTrafficPassed = "I looked at the breaks of the governing batch, the curing record, the hardened inspection and what is open at this end, and let traffic return to it."
	MeaningGateRefused   = "I looked at the evidence of this hour and do not pass the gate, for the reasons given."
)

// GateMeaning is what the signer of a decision says.
func GateMeaning(key uhpc.GateKey, decision string) string {
	switch {
	case decision != GatePassed:
		return MeaningGateRefused
	case key == uhpc.TrafficGate:
		return MeaningTrafficPassed
	}
	return MeaningStripPassed
}

// DecideGate passes or refuses one of the two gates of an end.
type DecideGate struct {
	Gate     string `json:"gate"`
	Decision string `json:"decision"`
	Reasons  string `json:"reasons"` // needed to refuse
	// From is the digest of the evidence that the decision was made on; empty asks for
	// no comparison.
	From string `json:"from,omitempty"`
}

// Kind implements Change.
func (ch DecideGate) Kind() string { return "gate." + ch.Decision }

// Apply implements Change. A gate is passed only while its whole rule is met,
// compared unrounded; a forecast is no part of it. What fails is named.
func (ch DecideGate) Apply(s *Scope, c Context) error {
	r, err := s.One()
	if err != nil {
		return err
	}
	key := uhpc.GateKey(ch.Gate)
	var bad fault.Invalid
	if key != uhpc.StripGate && key != uhpc.TrafficGate {
		bad.Add("gate", ch.Gate, "must be strip or traffic")
	}
	if ch.Decision != GatePassed && ch.Decision != GateRefused {
		bad.Add("decision", ch.Decision, "must be passed or refused")
	}
	if ch.Decision == GateRefused {
		need(&bad, "reasons", ch.Reasons, "say why the gate is refused")
	}
	tooLong(&bad, "reasons", ch.Reasons, 4000)
	if err := bad.Err(); err != nil {
		return err
	}
	g := r.GateNow(s, key)
	if err := from(ch.From, g.Digest, "what the gate stands on"); err != nil {
		return err
	}
	sys := units.System(s.Program.Units)
	if ch.Decision == GatePassed && !g.Opened.Open {
		var lines []string
		for _, e := range g.Opened.Evidence {
			if !e.Met {
				lines = append(lines, e.Line(sys))
			}
		}
		return fault.New(fault.Refused, "the gate %q at %s does not open: %s", key.Words(), r.End.Name, strings.Join(lines, "; "))
	}
	if g.Current && g.Last.Decision == ch.Decision {
		return fault.New(fault.Refused, "the gate %q at %s was %s by %s on this same evidence", key.Words(), r.End.Name, g.Last.Decision, g.Last.ByName)
	}
	row := GateDecision{ID: c.NewID(), EndID: r.End.ID, Gate: ch.Gate, Decision: ch.Decision, Limit: g.Gate.Limit, Mean: g.Opened.Mean, Evidence: []GateLine{}, Digest: g.Digest,
		Reasons: ch.Reasons, Meaning: GateMeaning(key, ch.Decision), ByUser: c.Actor.ID, ByName: c.Actor.Name, ByRole: string(c.Actor.Role), At: c.Now}
	var sets []string
	for _, x := range g.Opened.Decides {
		sets = append(sets, x.Batch+" "+string(x.Cure)+" at "+uhpc.AgeText(x.NominalHours))
	}
	row.Set = strings.Join(sets, ", ")
	for _, e := range g.Opened.Evidence {
		row.Evidence = append(row.Evidence, GateLine{Text: e.Line(sys), Met: e.Met})
	}
	r.Gates = append(r.Gates, row)
	return nil
}
