package calc

import (
	"encoding/json"
	"fmt"
	"math"
	"strconv"
)

// MethodVersion names the state of the method of calculation. It changes with
// every change that can change a stored number, and is stored beside each result.
const MethodVersion Version = "5"

// Version is a version of the method.
type Version string

// Verdict is the outcome of a check.
type Verdict uint8

// Verdicts. The zero value is none of them, so that a check nobody finished
// never reads as a pass.
const (
	Undecided Verdict = iota // before Finish
	Passes
	Fails
	Outside // a limit of the method is not met: never a pass
	Informs // shown, does not decide
)

var verdicts = [...]struct{ key, words string }{
	Undecided: {"undecided", "not decided"},
	Passes:    {"passes", "passes"},
	Fails:     {"fails", "does not pass"},
	Outside:   {"outside", "outside the method's limits"},
	Informs:   {"informs", "for information"},
}

// String is the verdict in words for a reader.
func (v Verdict) String() string { return verdicts[v.known()].words }

// Key is the verdict in one word, for storing and for class names.
func (v Verdict) Key() string { return verdicts[v.known()].key }

// known turns a verdict outside the list into Undecided.
func (v Verdict) known() Verdict {
	if int(v) >= len(verdicts) {
		return Undecided
	}
	return v
}

// MarshalText writes the key.
func (v Verdict) MarshalText() ([]byte, error) { return []byte(v.Key()), nil }

// UnmarshalText reads the key.
func (v *Verdict) UnmarshalText(b []byte) error {
	for i, row := range verdicts {
		if row.key == string(b) {
			*v = Verdict(i)
			return nil
		}
	}
	return fmt.Errorf("calc: no verdict is called %.40q", b)
}

// Limit is a limit of validity of a method, in words with its numbers.
type Limit struct {
	Text string `json:"text"`
	Met  bool   `json:"met"`
}

// Check is the outcome of comparing one demand with one resistance.
type Check struct {
	Key        string  // for example "web.crippling"
	Name       string  // for a reader
	Group      string  // "corroded", "repair" or "detail"
	Demand     float64 // in the coherent unit of Dim
	Resistance float64
	Dim        Dim
	Ratio      float64 // demand over resistance; +Inf when nothing resists
	Verdict    Verdict
	Limits     []Limit
	Clause     Clause
	Lines      []Line // the sheet; not stored with the check
}

// Slack is the tolerance of every comparison: a demand that passes its resistance,
// or a dimension that misses its limit, by no more than one part in a thousand
// million counts as equal. That is the rounding of inches held in millimeters,
// far below anything that can be measured.
const Slack = 1e-9

// SlackWords is the tolerance in words, for a sheet.
const SlackWords = "Values that differ by no more than one part in a thousand million (1e-9) count as equal, which is the rounding of inches held in millimeters; " +
	"their ratio is 1. A ratio up to 1 passes and one above 1 does not."

// AtLeast reports whether a value reaches a limit, within Slack.
func AtLeast(value, limit float64) bool { return value >= limit-Slack*math.Abs(limit) }

// AtMost reports whether a value stays within a limit, within Slack.
func AtMost(value, limit float64) bool { return value <= limit+Slack*math.Abs(limit) }

// Finish fills Ratio and Verdict from Demand, Resistance and Limits. A ratio above
// 1 by no more than Slack is set to 1, so that the ratio and the verdict never
// contradict each other. A ratio above 1 fails, also when limits are not met. Otherwise a limit that is not met,
// a demand or resistance that is not a number, and an infinite resistance (a
// division by zero somewhere) put the check outside the method. A demand of zero
// or less asks nothing and has the ratio 0; a resistance of zero gives +Inf when
// anything is demanded; a negative one always does. A check that comes in as
// Outside passes no more, and one that comes in as Informs stays so.
func Finish(c Check) Check {
	c.Ratio = ratio(c.Demand, c.Resistance)
	outside := c.Verdict == Outside || math.IsNaN(c.Ratio)
	for _, l := range c.Limits {
		outside = outside || !l.Met
	}
	switch {
	case c.Verdict == Informs:
	case c.Ratio > 1:
		c.Verdict = Fails
	case outside:
		c.Verdict = Outside
	default:
		c.Verdict = Passes
	}
	return c
}

func ratio(demand, resistance float64) float64 {
	switch {
	case math.IsNaN(demand) || math.IsNaN(resistance) || math.IsInf(resistance, 0) || math.IsInf(demand, -1):
		return math.NaN()
	case resistance < 0:
		return math.Inf(1)
	case demand <= 0:
		return 0
	case resistance == 0:
		return math.Inf(1)
	}
	r := demand / resistance
	if r > 1 && r <= 1+Slack {
		return 1
	}
	return r
}

// severity orders verdicts from harmless to decisive.
var severity = [...]int{Informs: 0, Passes: 1, Undecided: 2, Outside: 3, Fails: 4}

// Governing returns the place of the check that decides over all of them: the
// gravest verdict and, among equals, the highest ratio; the first of those that
// tie. It is -1 when there are no checks.
func Governing(checks []Check) int {
	best := -1
	for i, c := range checks {
		if best < 0 || graver(c, checks[best]) {
			best = i
		}
	}
	return best
}

func graver(a, b Check) bool {
	sa, sb := severity[a.Verdict.known()], severity[b.Verdict.known()]
	if sa != sb {
		return sa > sb
	}
	return a.Ratio > b.Ratio || !math.IsNaN(b.Ratio) && math.IsNaN(a.Ratio)
}

// Overall is the verdict over all checks: Undecided when there are none, since
// what nobody checked does not pass.
func Overall(checks []Check) Verdict {
	if i := Governing(checks); i >= 0 {
		return checks[i].Verdict.known()
	}
	return Undecided
}

// stored is the JSON form of a Check. It leaves the lines out: they are computed
// again from the stored inputs when someone asks for the sheet.
type stored struct {
	Key        string  `json:"key"`
	Name       string  `json:"name"`
	Group      string  `json:"group"`
	Demand     number  `json:"demand"`
	Resistance number  `json:"resistance"`
	Dim        Dim     `json:"dim"`
	Ratio      number  `json:"ratio"`
	Verdict    Verdict `json:"verdict"`
	Limits     []Limit `json:"limits,omitempty"`
	Clause     Clause  `json:"clause"`
}

// MarshalJSON writes the check without its lines. Numbers that JSON lacks are
// written as the texts "+Inf", "-Inf" and "NaN".
func (c Check) MarshalJSON() ([]byte, error) {
	return json.Marshal(stored{c.Key, c.Name, c.Group, number(c.Demand), number(c.Resistance), c.Dim,
		number(c.Ratio), c.Verdict, c.Limits, c.Clause})
}

// UnmarshalJSON reads what MarshalJSON writes.
func (c *Check) UnmarshalJSON(b []byte) error {
	var s stored
	if err := json.Unmarshal(b, &s); err != nil {
		return fmt.Errorf("calc: check: %w", err)
	}
	*c = Check{Key: s.Key, Name: s.Name, Group: s.Group, Demand: float64(s.Demand), Resistance: float64(s.Resistance),
		Dim: s.Dim, Ratio: float64(s.Ratio), Verdict: s.Verdict, Limits: s.Limits, Clause: s.Clause}
	return nil
}

// number is a float64 that survives JSON when it is infinite or not a number.
type number float64

func (n number) MarshalJSON() ([]byte, error) {
	if v := float64(n); math.IsNaN(v) || math.IsInf(v, 0) {
		return json.Marshal(strconv.FormatFloat(v, 'g', -1, 64))
	}
	return json.Marshal(float64(n))
}

func (n *number) UnmarshalJSON(b []byte) error {
	if len(b) > 1 && b[0] == '"' {
		switch string(b[1 : len(b)-1]) {
		case "+Inf":
			*n = number(math.Inf(1))
		case "-Inf":
			*n = number(math.Inf(-1))
		case "NaN":
			*n = number(math.NaN())
		default:
			return fmt.Errorf("bad number %.40s", b)
		}
		return nil
	}
	return json.Unmarshal(b, (*float64)(n))
}
