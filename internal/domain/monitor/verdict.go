package monitor

import (
	"fmt"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/units"
)

// State is when a passage was seen, against the age of the panel.
type State uint8

// States.
const (
	Before State = iota // before the panel was cast
	Days                // in the days after
	Later               // from 28 days on, or what the owner set
	stateCount
)

var stateNames = [...]string{"before casting", "days after casting", "28 days and later"}

// String is the state in words; those of Later are the default age.
func (s State) String() string { return stateNames[min(s, Later)] }

var stateKeys = [...]string{"before", "days", "later"}

// MarshalText writes the key of the state.
func (s State) MarshalText() ([]byte, error) { return []byte(stateKeys[min(s, Later)]), nil }

// UnmarshalText reads what MarshalText writes.
func (s *State) UnmarshalText(text []byte) error {
	for i, n := range stateKeys {
		if n == string(text) {
			*s = State(i)
			return nil
		}
	}
	return fmt.Errorf("state: %q is none of %q", text, stateKeys)
}

const day = 24 * hour

// StateAt is the state of an end cast at a time; cast is 0 where it is not cast yet.
func StateAt(b basis.Basis, cast, at int64) State {
	switch {
	case cast == 0 || at < cast:
		return Before
	case float64(at-cast) < b.Value(basis.EngagedLater)*float64(day):
		return Days
	}
	return Later
}

// Seen is a usable passage as a verdict needs it; NaN for what no gauge showed.
type Seen struct {
	At           int64
	State        State
	Web          float64 // size of the peak on the web, microstrain
	Ratio        float64 // over the control gauge
	PanelOverWeb float64 // strain of the panel over that of the web, where the web peaks
	Coincident   bool    // panel or stud show it too
	Slip         float64 // mm
	Temperature  float64
}

// SeenOf takes a passage over; false for one that cannot be used.
func SeenOf(p Passage, s State) (Seen, bool) {
	out := Seen{At: p.Web.At, State: s, Web: max(p.Web.Peak, -p.Web.Peak), Ratio: p.Ratio, PanelOverWeb: p.PanelAtPeak / p.Web.Peak,
		Coincident: p.Coincident(), Slip: p.Slip, Temperature: p.Temperature}
	return out, p.Web.Flag == Usable
}

// Stiffness is what strains are turned into forces with: modulus times the area
// that acts, and how well each is known, as a standard deviation over the value.
type Stiffness struct {
	Web, Panel           units.Force
	WebError, PanelError float64
}

// Foreseen is what the design leads one to expect.
type Foreseen struct {
	Share, ShareLow, ShareHigh             float64 // of load placed after hardening
	Reduction, ReductionLow, ReductionHigh float64 // fall of web strain at the gauge
}

// DayLevel is where a slip gauge stood on a day, and the temperature; NaN for none.
type DayLevel struct {
	Day               int64 // its begin, ns
	Slip, Temperature float64
}

// Evidence is everything that a verdict stands on.
type Evidence struct {
	Seen  []Seen
	Hours [stateCount]float64 // recorded
	// What is installed. Without a control gauge that the repair cannot change, every
	// verdict is indicative only.
	Control, Panel, Stud, Slip bool
	Stiffness                  Stiffness
	Foreseen                   *Foreseen    // nil: none
	DesignSlip                 units.Length // 0: none
	Levels                     []DayLevel   // after casting, in order
	Cast                       int64        // ns; 0: not cast
	ZoneOffset                 int64        // ns to add to a time for the local day
	Seed                       uint64       // of the resampling
}

// Verdict is the answer.
type Verdict uint8

// Verdicts. NotEnough is the zero value.
const (
	NotEnough Verdict = iota
	Engaged
	NotEngaged
	IndicativeOnly
)

var verdictNames = [...]string{"not enough data", "engaged", "not engaged", "indicative only"}

// String is the verdict in words.
func (v Verdict) String() string { return verdictNames[min(v, IndicativeOnly)] }

// MarshalText writes the verdict in words.
func (v Verdict) MarshalText() ([]byte, error) { return []byte(v.String()), nil }

// UnmarshalText reads what MarshalText writes.
func (v *Verdict) UnmarshalText(text []byte) error {
	for i, n := range verdictNames {
		if n == string(text) {
			*v = Verdict(i)
			return nil
		}
	}
	return fmt.Errorf("verdict: %q is none of %q", text, verdictNames)
}

// Criterion is one thing that was asked.
type Criterion struct {
	Key      string   `json:"key"`
	Name     string   `json:"name"`
	Value    Interval `json:"value"`
	Limit    float64  `json:"limit"`
	Measured bool     `json:"measured"`
	Met      bool     `json:"met"`
	Words    string   `json:"words"`
}

// More is what is missing in a state.
type More struct {
	State    State `json:"state"`
	Passages int   `json:"passages"`
	Days     int   `json:"days"`
}

// Summary is one state by itself.
type Summary struct {
	State       State    `json:"state"`
	Passages    int      `json:"passages"`
	WithControl int      `json:"with_control"`
	Days        int      `json:"days"`
	Hours       float64  `json:"hours"`
	Ratio       Interval `json:"ratio"`       // web over control, median
	Coincidence Interval `json:"coincidence"` // part of the passages that panel or stud show
	StrainRatio Interval `json:"strain_ratio"`
	Share       Interval `json:"share"`   // of the load, median
	Slip        Interval `json:"slip_mm"` // live, median
	Peak        Interval `json:"peak"`    // raw median, microstrain: follows the traffic
}

// Comparison is one state after casting against the state before.
type Comparison struct {
	After     State       `json:"after"`
	Verdict   Verdict     `json:"verdict"`
	Words     string      `json:"words"` // one sentence
	Ratio     Interval    `json:"ratio"` // of the medians of web over control, after over before
	Reduction Interval    `json:"reduction"`
	Criteria  []Criterion `json:"criteria"`
	More      []More      `json:"more"`
	Raw       []RawTest   `json:"raw"` // shown, never deciding
}

// Judgment is the whole answer.
type Judgment struct {
	Method  int          `json:"method"`
	Seed    uint64       `json:"seed"`
	Verdict Verdict      `json:"verdict"`
	Words   string       `json:"words"`
	Decided State        `json:"decided"` // state that the verdict is from; Before where nothing was seen after
	States  []Summary    `json:"states"`
	Against []Comparison `json:"against"` // for each state after casting with passages
	Trend   Course       `json:"trend"`
	Slip    Drift        `json:"slip"`
	Finding []Finding    `json:"findings"`
}

// Finding is something an engineer should look into.
type Finding struct {
	Key   string `json:"key"`
	Words string `json:"words"`
}

// RawWhy is the one sentence that goes with the raw tests.
const RawWhy = "Raw peaks follow the trucks that happened to pass: two records of one unrepaired end can differ as much as a record before and one after a repair, so these are shown and decide nothing."

// Judge weighs the evidence. The same evidence, basis and seed give the same answer.
func Judge(b basis.Basis, ev Evidence) Judgment {
	j := judge{b: b, ev: ev, how: Resampling{Times: int(b.Value(basis.EngagedResamples)), Seed: ev.Seed, Least: int(b.Value(basis.EngagedBlocks))}}
	for _, s := range ev.Seen {
		if s.State < stateCount {
			j.seen[s.State] = append(j.seen[s.State], s)
		}
	}
	out := Judgment{Method: MethodVersion, Seed: ev.Seed, Words: "nothing was recorded after casting"}
	for s := range stateCount {
		j.sum[s] = j.summary(s)
		if len(j.seen[s]) > 0 {
			out.States = append(out.States, j.sum[s])
		}
	}
	out.Trend = j.trend()
	out.Slip = j.drift()
	for _, s := range []State{Days, Later} {
		if len(j.seen[s]) == 0 {
			continue
		}
		c := j.compare(s)
		out.Against = append(out.Against, c)
		// The latest state that decides; the latest at all where none does.
		if c.Verdict == Engaged || c.Verdict == NotEngaged || out.Verdict == NotEnough || out.Verdict == IndicativeOnly {
			out.Verdict, out.Words, out.Decided = c.Verdict, c.Words, s
		}
	}
	out.Finding = j.findings(out)
	return out
}

type judge struct {
	b    basis.Basis
	ev   Evidence
	how  Resampling
	seen [stateCount][]Seen
	sum  [stateCount]Summary
}

// days counts local days with passages that count.
func (j *judge) days(seen []Seen, counts func(Seen) bool) int {
	days := map[int64]bool{}
	for _, s := range seen {
		if counts(s) {
			days[floorDiv(s.At+j.ev.ZoneOffset, day)] = true
		}
	}
	return len(days)
}

// blocked sorts a value of each passage into days, or hours where the days are few.
func (j *judge) blocked(seen []Seen, value func(Seen) float64) Blocked {
	width := day
	if float64(j.days(seen, func(s Seen) bool { v := value(s); return v == v })) < j.b.Value(basis.EngagedDayBlocks) {
		width = hour
	}
	v, k := make([]float64, len(seen)), make([]int64, len(seen))
	for i, s := range seen {
		v[i], k[i] = value(s), floorDiv(s.At+j.ev.ZoneOffset, width)
	}
	return Block(v, k)
}

func ratio(s Seen) float64 { return s.Ratio }
func web(s Seen) float64   { return s.Web }

// coincident is 1 or 0.
func coincident(s Seen) float64 {
	if s.Coincident {
		return 1
	}
	return 0
}

func (j *judge) summary(s State) Summary {
	seen, ev := j.seen[s], j.ev
	out := Summary{State: s, Passages: len(seen), Hours: ev.Hours[s], Ratio: none, Coincidence: none, StrainRatio: none, Share: none, Slip: none,
		Days: j.days(seen, func(Seen) bool { return true }), Peak: j.how.Of(j.blocked(seen, web), 0.5, nil)}
	if ev.Control {
		b := j.blocked(seen, ratio)
		out.WithControl, out.Ratio = b.Len(), j.how.Of(b, 0.5, nil)
	}
	if s == Before {
		return out // no panel
	}
	if ev.Panel || ev.Stud {
		out.Coincidence = j.how.Part(j.blocked(seen, coincident))
	}
	if ev.Panel {
		out.StrainRatio = j.how.Of(j.blocked(seen, func(s Seen) float64 { return s.PanelOverWeb }), 0.5, nil)
		out.Share = j.share(seen)
	}
	if ev.Slip {
		out.Slip = j.how.Of(j.blocked(seen, func(s Seen) float64 { return s.Slip }), 0.5, nil)
	}
	return out
}

func floorDiv(a, b int64) int64 {
	q := a / b
	if a%b != 0 && (a < 0) != (b < 0) {
		q--
	}
	return q
}
