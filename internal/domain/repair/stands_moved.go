package repair

import (
	"math"
	"strings"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/calc"
	"endcast/internal/domain/units"
)

// Effect is what something that moved under an approval means for it, by the
// owner's thresholds.
type Effect uint8

// Effects, the gravest last.
const (
	Unmoved    Effect = iota
	Confirms          // agrees with what was approved: the engineer signs that it still holds
	SecondLook        // the engineer looks again and says why it still holds
	Stops             // the work stops until the engineer has decided
)

var effectKeys = [...]string{"", "confirms", "look", "stops"}

// Key is the effect in one word, for storing; empty for Unmoved.
func (e Effect) Key() string { return effectKeys[min(e, Stops)] }

// EffectOf reads a stored key.
func EffectOf(key string) Effect {
	for i, k := range effectKeys {
		if k == key {
			return Effect(i)
		}
	}
	return SecondLook
}

// Words is the effect for a reader.
func (e Effect) Words() string {
	return [...]string{"as approved", "merely confirms", "needs a second look", "stops the work"}[min(e, Stops)]
}

// Ruled is one thing that moved, with what it means by which threshold.
type Ruled struct {
	Key    string // of the fact
	Name   string
	Was    *StandFact // nil where it was not there
	Is     *StandFact // nil where it is gone
	Effect Effect
	Why    string    // the rule in words; for a quantity followed by By and Limit
	Unit   string    // of By and Limit
	By     *float64  // how far it moved for the worse
	Limit  *float64  // threshold that it passed or kept
	Set    basis.Key // setting of the threshold
}

// Says is the rule with its numbers.
func (x Ruled) Says(sys units.System) string {
	if x.By == nil {
		return x.Why
	}
	print := func(v float64) string {
		if kind, ok := units.KindNamed(x.Unit); ok && kind != units.Numbers {
			return kind.Format(v, sys, -1)
		}
		return units.Significant(v, 3)
	}
	out := strings.Replace(x.Why, "%", print(*x.By), 1)
	if x.Limit != nil {
		out = strings.Replace(out, "#", print(*x.Limit), 1)
	}
	return out
}

// Movement is what moved under the last approval or confirmation of a revision.
type Movement struct {
	Since  *Review
	Effect Effect
	Ruled  []Ruled // the gravest first, what moved last
	Kept   bool    // what it stood on then is on record line by line
}

// Worst is the line that gives the movement its effect.
func (m Movement) Worst() (Ruled, bool) {
	if len(m.Ruled) == 0 {
		return Ruled{}, false
	}
	return m.Ruled[0], true
}

// Movement compares what a revision stands on with what it stood on when it was
// approved or confirmed last. Without an approval, or where nothing moved, the effect
// is Unmoved.
func (r *Record) Movement(s *Scope, d *Design) Movement { return r.movement(s, d, "", nil) }

func (r *Record) movement(s *Scope, d *Design, digest string, ev *Evaluation) Movement {
	var m Movement
	if d == nil || d.State != DesignApproved && d.State != DesignApprovedNoted {
		return m
	}
	if m.Since = r.lastApproval(d); m.Since == nil || m.Since.InputDigest == r.digestOr(s, d, digest) {
		return m
	}
	judge := judging{b: s.Basis(), now: r.standsOn(s, d, ev)}
	m.Kept = len(m.Since.StandsOn) > 0
	judge.was = m.Since.StandsOn
	judge.readings(r, m.Since)
	if m.Kept {
		judge.facts()
	} else {
		judge.add(Ruled{Key: "approval", Name: "The approval", Effect: SecondLook, Why: "was given before what it stood on was kept line by line"})
		judge.verdict()
	}
	m.Ruled = judge.out
	sortRuled(m.Ruled)
	m.Effect = Confirms // the digest moved, and nothing that a threshold speaks of
	if w, ok := m.Worst(); ok {
		m.Effect = max(m.Effect, w.Effect)
	}
	return m
}

func sortRuled(list []Ruled) {
	for i := 1; i < len(list); i++ { // stable, and short
		for j := i; j > 0 && list[j].Effect > list[j-1].Effect; j-- {
			list[j], list[j-1] = list[j-1], list[j]
		}
	}
}

// judging is the rules at work.
type judging struct {
	b        basis.Basis
	was, now []StandFact
	out      []Ruled
}

func (j *judging) add(x Ruled) { j.out = append(j.out, x) }

func fact(list []StandFact, key string) *StandFact {
	for i := range list {
		if list[i].Key == key {
			return &list[i]
		}
	}
	return nil
}

// readings judges the largest loss at a place that was read before, and at one that
// was not.
func (j *judging) readings(r *Record, since *Review) {
	_, was := r.SurveyAt(since.At)
	is := r.SurveyFindings(r.LatestSurvey())
	if was == nil || is == nil {
		return
	}
	noise, stop := j.b.Value(basis.ReviewNoise), j.b.Value(basis.ReviewStopLoss)
	least := math.Inf(1)
	for _, x := range was.Readings {
		if !x.NoAccess {
			least = min(least, float64(x.T))
		}
	}
	worst, fresh, moved := 0.0, 0.0, false
	for _, c := range CompareReadings(was, is) {
		moved = true
		switch {
		case c.Was != nil && c.Is != nil:
			worst = max(worst, float64(c.Thinner()))
		case c.Is != nil && !c.Is.NoAccess:
			fresh = max(fresh, least-float64(c.Is.T))
		}
	}
	if !moved {
		return
	}
	j.add(j.thinner("survey.least", "Remaining thickness", worst, noise, stop, "a reading is % thinner than approved"))
	if fresh > 0 {
		j.add(j.thinner("survey.new_place", "Remaining thickness at a new place", fresh, noise, stop, "a place that was not read is % thinner than the least approved"))
	}
}

// thinner is the rule of lost steel: up to the noise of a gauge it confirms, beyond
// the limit it stops, and between it asks for a second look.
func (j *judging) thinner(key, name string, by, noise, stop float64, words string) Ruled {
	x := Ruled{Key: key, Name: name, Unit: units.Lengths.Name(), By: &by, Was: fact(j.was, key), Is: fact(j.now, key)}
	stop = max(stop, noise)
	switch {
	case by <= 0:
		x.Effect, x.Why, x.By = Confirms, "no reading is thinner than approved", nil
	case calc.AtMost(by, noise):
		x.Effect, x.Why, x.Limit, x.Set = Confirms, words+", within #", &noise, basis.ReviewNoise
	case calc.AtMost(by, stop):
		x.Effect, x.Why, x.Limit, x.Set = SecondLook, words+", more than #", &noise, basis.ReviewNoise
	default:
		x.Effect, x.Why, x.Limit, x.Set = Stops, words+", more than #", &stop, basis.ReviewStopLoss
	}
	return x
}

// facts judges every fact that moved.
func (j *judging) facts() {
	for i := range j.now {
		is := &j.now[i]
		was := fact(j.was, is.Key)
		if was != nil && was.Sum == is.Sum {
			continue
		}
		j.fact(is.Key, is.Name, was, is)
	}
	for i := range j.was {
		if was := &j.was[i]; fact(j.now, was.Key) == nil {
			j.fact(was.Key, was.Name, was, nil)
		}
	}
}

func (j *judging) fact(key, name string, was, is *StandFact) {
	x := Ruled{Key: key, Name: name, Was: was, Is: is, Effect: Confirms}
	worse, both := grew(was, is)
	group, _, _ := strings.Cut(key, ".")
	limit := func(set basis.Key) *float64 { v := j.b.Value(set); x.Set = set; return &v }
	switch {
	case key == "survey.least", key == "survey.readings", key == "survey":
		return // told by the readings themselves
	case key == "survey.blind":
		if x.Why = "fewer places are without access"; worse > 0 {
			x.Effect, x.Why = SecondLook, "a place that was read could not be read again"
		}
	case key == "survey.holes", key == "survey.hole_size":
		x.Why = "holes are fewer or smaller than approved"
		if worse > 0 || !both || key == "survey.holes" && worse == 0 {
			x.Effect, x.Set, x.Why = SecondLook, basis.ReviewHoleStops, "a hole through the web is new, moved or grew"
			if worse > 0 && j.b.Value(basis.ReviewHoleStops) >= 1 {
				x.Effect = Stops
			}
		}
	case key == "survey.flange", key == "survey.stiffener_thickness", key == "survey.stiffener_width":
		if !both {
			x.Effect, x.Why = SecondLook, "was measured in one of the two surveys only"
			break
		}
		lost := j.thinner(key, name, -worse, j.b.Value(basis.ReviewNoise), j.b.Value(basis.ReviewStopLoss), "% less than approved")
		if lost.By == nil {
			lost.Why = "no less than approved"
		}
		x = lost
	case key == "survey.deviation", key == "survey.detached":
		if x.Why = "no more than approved"; worse > 0 {
			x.Unit, x.By, x.Limit = units.Lengths.Name(), &worse, limit(basis.ReviewBowed)
			x.Effect, x.Why = SecondLook, "% more than approved, within #"
			if !calc.AtMost(worse, *x.Limit) {
				x.Effect, x.Why = Stops, "% more than approved, more than #"
			}
		}
	case group == "layout":
		x.Effect, x.Why = Stops, "the layout is another one than that approved"
	case group == "end":
		x.Effect, x.Why = SecondLook, "the end is not as it was approved"
	case key == "demand", key == "demand.range":
		j.share(&x, was, worse, both, basis.ReviewDemandRise, "risen by % of what was approved")
	case key == "result.capacity":
		j.share(&x, was, -worse, both, basis.ReviewCapacityDrop, "fallen by % of what was approved")
	case key == "procedure":
		x.Effect, x.Why = SecondLook, "another procedure is in force"
	case group == "basis":
		x.Why = "judged by what it does to the checks"
	case key == "method":
		x.Why = "judged by what it does to the checks"
	case key == "result.verdict":
		j.verdict()
		return
	case key == "result.governs":
		x.Why = "another check decides"
	case group == "check":
		j.check(&x, was, is, worse, both)
	default:
		x.Effect, x.Why = SecondLook, "no rule speaks of it"
	}
	j.add(x)
}

// grew is by how much a quantity is more than it was; both is false where one of the
// two is no quantity.
func grew(was, is *StandFact) (by float64, both bool) {
	if was == nil || is == nil || was.Value == nil || is.Value == nil {
		return 0, false
	}
	return *is.Value - *was.Value, true
}

// share judges a quantity by the share of it that moved for the worse.
func (j *judging) share(x *Ruled, was *StandFact, worse float64, both bool, set basis.Key, words string) {
	switch {
	case !both:
		x.Effect, x.Why = SecondLook, "is known in one of the two only"
	case worse <= 0:
		x.Why = "no worse than approved"
	default:
		by, limit := math.Inf(1), j.b.Value(set)
		if *was.Value > 0 {
			by = worse / *was.Value
		}
		x.By, x.Limit, x.Set, x.Why = &by, &limit, set, words+", within #"
		if !calc.AtMost(by, limit) {
			x.Effect, x.Why = SecondLook, words+", more than #"
		}
	}
}

// check judges the outcome of a check: one that does not pass any more stops the
// work, one whose ratio rose by more than the threshold asks for a second look.
func (j *judging) check(x *Ruled, was, is *StandFact, worse float64, both bool) {
	passes := calc.Passes.Key()
	switch {
	case is == nil:
		x.Effect, x.Why = SecondLook, "this check is no longer made"
	case is.Text != passes && (was == nil || was.Text == passes):
		x.Effect, x.Why = Stops, "this check does not pass any more"
	case was == nil:
		x.Effect, x.Why = SecondLook, "this check was not made at the approval"
	case !both:
		x.Effect, x.Why = SecondLook, "its ratio is known in one of the two only"
	case worse <= 0:
		x.Why = "no worse than approved"
	default:
		limit := j.b.Value(basis.ReviewRatioRise)
		x.By, x.Limit, x.Set, x.Why = &worse, &limit, basis.ReviewRatioRise, "its ratio rose by %, within #"
		if !calc.AtMost(worse, limit) {
			x.Effect, x.Why = SecondLook, "its ratio rose by %, more than #"
		}
	}
}

// verdict judges the outcome as a whole.
func (j *judging) verdict() {
	was, is := fact(j.was, "result.verdict"), fact(j.now, "result.verdict")
	x := Ruled{Key: "result.verdict", Name: "Verdict", Was: was, Is: is, Effect: Confirms, Why: "every check passes"}
	if is == nil || is.Text != calc.Passes.Key() {
		x.Effect, x.Why = Stops, "with what is known now the revision does not pass"
		if was != nil && was.Text == is.Text {
			x.Effect, x.Why = SecondLook, "it did not pass when it was approved, and does not now"
		}
	}
	j.add(x)
}

// Hopeless reports whether no confirmation can lift the movement: with what is known
// the revision does not pass.
func (m Movement) Hopeless() bool {
	for _, x := range m.Ruled {
		if x.Key == "result.verdict" && x.Is != nil && x.Is.Text != calc.Passes.Key() {
			return true
		}
	}
	return false
}

// reason is what moved, with what it means.
func (m Movement) reason(s *Scope, moves string) string {
	w, ok := m.Worst()
	if !ok || w.Effect == Confirms {
		return moves
	}
	return moves + "; " + m.Effect.Words() + ": " + w.Line(units.System(s.Program.Units))
}

// Line is the fact and the rule in one.
func (x Ruled) Line(sys units.System) string { return lowerFirst(x.Name) + ": " + x.Says(sys) }

func lowerFirst(s string) string {
	if len(s) > 1 && s[1] >= 'a' && s[1] <= 'z' {
		return strings.ToLower(s[:1]) + s[1:]
	}
	return s
}
