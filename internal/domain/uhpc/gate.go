package uhpc

import (
	"fmt"
	"math"
	"strings"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/calc"
	"endcast/internal/domain/units"
)

// GateKey names one of the two decisions that hang on strength.
type GateKey string

// Gates.
const (
	StripGate   GateKey = "strip"   // the form may come off and load go on
	TrafficGate GateKey = "traffic" // traffic may return
)

// Words is what a gate decides, in words.
func (k GateKey) Words() string {
	if k == TrafficGate {
		return "return to traffic"
	}
	return "strip the form"
}

// Limit is the strength that the design basis asks for at the gate.
func (k GateKey) Limit(b basis.Basis) units.Stress {
	if k == TrafficGate {
		return units.Stress(b.Value(basis.TrafficStrength))
	}
	return units.Stress(b.Value(basis.StripStrength))
}

// Gate is all that its rule looks at. A forecast is not among it: no curve and no
// maturity opens a gate.
type Gate struct {
	Key   GateKey
	Limit units.Stress
	// Governing are the batches that decide, Unknown why one cannot be named: both
	// from GoverningBatches.
	Governing []Governs
	Unknown   []string
	// Sets are those of the end's batches, of any cure; the rule picks.
	Sets []Set
	// CuringComplete tells that the curing log has no gap that voids it and runs
	// to its end; CuringWhy says what it lacks.
	CuringComplete bool
	CuringWhy      string
	// Open lists the nonconformances of the end that are not closed.
	Open []string
	// HardenedAccepted tells that the inspection of the hardened panel is closed;
	// only the traffic gate asks for it.
	HardenedAccepted bool
}

// Evidence is one line of a gate's rule with what was found.
type Evidence struct {
	Rule  string // key of the rule
	Batch string // that the line speaks of, empty for the whole end
	Text  string
	// Value and Limit are in the coherent unit of Kind; both are zero where the
	// rule has no number.
	Value, Limit float64
	Kind         units.Kind
	Met          bool
}

// Opened is the verdict of a gate with its evidence.
type Opened struct {
	Open     bool
	Evidence []Evidence
	// Mean is the least of the deciding means, zero if no set decides; Decides are
	// the sets that were looked at.
	Mean    units.Stress
	Decides []Set
	Check   calc.Check
}

// StrengthMet reports whether all that the rule asks of breaks is met, whatever else
// keeps the gate shut.
func (o Opened) StrengthMet() bool {
	for _, e := range o.Evidence {
		switch e.Rule {
		case "curing", "nonconformance", "hardened":
			continue
		}
		if !e.Met {
			return false
		}
	}
	return len(o.Decides) > 0
}

// Evaluate applies the rule, with its sheet on p if p is not nil. The rule is our
// proposal: the sets of each governing batch that were cured in the field or to
// match it, of the greatest age that is complete, each with enough specimens that
// count, a spread that needs no review, each specimen at least a share of the
// limit, and the mean at least the limit, compared unrounded; no later break below
// the share; the curing log complete; no nonconformance open; to return to traffic
// the hardened panel accepted as well. Standard-cured sets never count.
func (g Gate) Evaluate(p *calc.Pad, b basis.Basis) Opened {
	var o Opened
	add := func(e Evidence) { o.Evidence = append(o.Evidence, e) }
	for _, why := range g.Unknown {
		add(Evidence{Rule: "governing", Text: why})
	}
	if len(g.Governing) == 0 && len(g.Unknown) == 0 {
		add(Evidence{Rule: "governing", Text: "no governing batch is named"})
	}
	mean := math.Inf(1)
	for _, gov := range g.Governing {
		add(Evidence{Rule: "governing", Batch: gov.Batch, Text: fmt.Sprintf("batch %s governs: %s", gov.Batch, gov.Why()), Met: true})
		sets, lines := g.batch(p, gov.Batch, b)
		o.Decides = append(o.Decides, sets...)
		for _, e := range lines {
			add(e)
			if e.Rule == "mean" {
				mean = math.Min(mean, e.Value)
			}
		}
	}
	if !math.IsInf(mean, 1) {
		o.Mean = units.Stress(mean)
	}
	curing := "the curing log is complete"
	if !g.CuringComplete {
		curing = "the curing log is not complete"
		if g.CuringWhy != "" {
			curing += ": " + g.CuringWhy
		}
	}
	add(Evidence{Rule: "curing", Text: curing, Met: g.CuringComplete})
	open := "no nonconformance is open"
	if len(g.Open) > 0 {
		open = "open: " + strings.Join(g.Open, ", ")
	}
	add(Evidence{Rule: "nonconformance", Text: open, Met: len(g.Open) == 0})
	if g.Key == TrafficGate {
		text := "the hardened panel is accepted"
		if !g.HardenedAccepted {
			text = "the hardened panel is not accepted yet"
		}
		add(Evidence{Rule: "hardened", Text: text, Met: g.HardenedAccepted})
	}
	o.Check = g.check(p, o)
	o.Open = o.Check.Verdict == calc.Passes
	return o
}

// batch holds the deciding sets of one batch to the rule.
func (g Gate) batch(p *calc.Pad, mark string, b basis.Basis) (decide []Set, lines []Evidence) {
	own, standard := 0, 0
	age := math.Inf(-1)
	var candidates []Set
	for _, s := range g.Sets {
		if s.Batch != mark {
			continue
		}
		if s.Cure != FieldCure && s.Cure != MatchCure {
			standard++
			continue
		}
		own++
		candidates = append(candidates, s)
		if s.Stats(b).State != TooFew {
			age = math.Max(age, s.NominalHours)
		}
	}
	if math.IsInf(age, -1) {
		text := fmt.Sprintf("batch %s has no complete set cured in the field or to match it", mark)
		for _, s := range candidates {
			if st := s.Stats(b); st.Broken > 0 {
				text += fmt.Sprintf("; at %s %s", AgeText(s.NominalHours), st.Why)
			}
		}
		if own == 0 && standard > 0 {
			text += "; standard-cured sets never open a gate"
		}
		return nil, []Evidence{{Rule: "set", Batch: mark, Text: text}}
	}
	floor := b.Value(basis.EachOfLimit) * float64(g.Limit)
	for _, s := range candidates {
		switch {
		case s.NominalHours == age && s.Stats(b).State != TooFew:
			decide = append(decide, s)
			lines = append(lines, g.set(p, s, floor, b)...)
		case s.NominalHours >= age:
			for _, x := range s.Specimens {
				if r := x.Break(nil, b); r.Counts && !calc.AtLeast(float64(r.Converted), floor) {
					lines = append(lines, Evidence{Rule: "later", Batch: mark, Value: float64(r.Converted), Limit: floor, Kind: units.Stresses,
						Text: fmt.Sprintf("specimen %s, broken at %s, is low", x.Mark, AgeText(r.AgeHours))})
				}
			}
		}
	}
	return decide, lines
}

// set holds one set to the rule.
func (g Gate) set(p *calc.Pad, s Set, floor float64, b basis.Basis) []Evidence {
	for _, x := range s.Specimens {
		if !x.Broken.IsZero() {
			p.Note("batch " + s.Batch + ", specimen " + x.Mark)
			x.Break(p, b)
		}
	}
	st := s.Stats(b)
	need, most := b.Value(basis.SetSize), b.Value(basis.RangeReview)
	name := fmt.Sprintf("batch %s, %s cure at %s", s.Batch, s.Cure, AgeText(s.NominalHours))
	count := fmt.Sprintf("%s: %d of %d broken count", name, st.Counted, st.Broken)
	for _, x := range s.Specimens {
		if r := x.Break(nil, b); !x.Broken.IsZero() && !r.Counts {
			count += fmt.Sprintf("; %s does not: %s", x.Mark, strings.Join(r.Why, ", "))
		}
	}
	spread := name + ": range over mean"
	if st.State == Sound && st.RangeShare > most {
		spread += ", reviewed by " + s.Reviewed
	} else if s.Voided != "" {
		spread += "; set aside: " + s.Voided
	}
	return []Evidence{
		{Rule: "count", Batch: s.Batch, Text: count, Value: float64(st.Counted), Limit: need, Kind: units.Numbers, Met: float64(st.Counted) >= math.Floor(need)},
		{Rule: "spread", Batch: s.Batch, Text: spread, Value: st.RangeShare, Limit: most, Kind: units.Percents, Met: st.State == Sound},
		{Rule: "each", Batch: s.Batch, Text: name + ": the least specimen", Value: float64(st.Least), Limit: floor, Kind: units.Stresses, Met: calc.AtLeast(float64(st.Least), floor)},
		{Rule: "mean", Batch: s.Batch, Text: name + ": the mean", Value: float64(st.Mean), Limit: float64(g.Limit), Kind: units.Stresses, Met: calc.AtLeast(float64(st.Mean), float64(g.Limit))},
	}
}

// check is the gate as a check of the record: what fails on strength fails, what
// lacks evidence is outside, and neither opens.
func (g Gate) check(p *calc.Pad, o Opened) calc.Check {
	c := calc.Check{Key: "material." + string(g.Key), Name: g.Key.Words(), Group: "material", Dim: calc.Stress, Lines: p.Lines(),
		Demand: float64(g.Limit), Resistance: float64(o.Mean), Clause: calc.Clause{Document: "release rule of the design basis", Tag: basis.Proposal}}
	for _, e := range o.Evidence {
		if e.Rule != "mean" {
			c.Limits = append(c.Limits, calc.Limit{Text: e.bothTexts(), Met: e.Met})
		}
	}
	if len(o.Decides) == 0 {
		c.Verdict, c.Ratio = calc.Outside, math.Inf(1)
		return c
	}
	return calc.Finish(c)
}

// Line is the evidence in the reader's units: what was found and what is asked,
// with as many decimals as tell the two apart, two at least for a strength.
func (e Evidence) Line(sys units.System) string {
	if e.Limit == 0 && e.Value == 0 {
		return e.Text
	}
	word := "at least"
	if e.Rule == "spread" {
		word = "at most"
	}
	value, limit := e.Shown(sys)
	return fmt.Sprintf("%s is %s, %s %s", e.Text, value, word, limit)
}

// Shown prints value and limit side by side.
func (e Evidence) Shown(sys units.System) (value, limit string) {
	if e.Kind == units.Numbers {
		return e.Kind.Format(e.Value, sys, 0), e.Kind.Format(e.Limit, sys, 0)
	}
	decimals := 2
	for ; decimals < 6; decimals++ {
		value, limit = e.Kind.Format(e.Value, sys, decimals), e.Kind.Format(e.Limit, sys, decimals)
		if value != limit || e.Met {
			break
		}
	}
	return value, limit
}

func (e Evidence) bothTexts() string {
	us, si := e.Line(units.US), e.Line(units.SI)
	if us == si || e.Kind != units.Stresses {
		return us
	}
	value, limit := e.Shown(units.SI)
	return us + " (" + value + ", " + limit + ")"
}
