package stud

import (
	"fmt"

	"endcast/internal/domain/calc"
	"endcast/internal/domain/units"
)

// limits collects limits of validity. Their words are only made when somebody
// reads along or when a limit is not met: the fast path makes no text.
type limits struct {
	list []calc.Limit
	read bool
}

func (l *limits) wants(met bool) bool { return l.read || !met }

func (l *limits) add(met bool, format string, args ...any) {
	l.list = append(l.list, calc.Limit{Text: fmt.Sprintf(format, args...), Met: met})
}

// ratioAtLeast records that a plain number reaches a limit.
func (l *limits) ratioAtLeast(name string, v, limit float64) {
	if met := v >= limit*(1-rounding); l.wants(met) {
		l.add(met, "%s is %.2f, at least %.2f", name, v, limit)
	}
}

// lengthAtMost records that a length stays within a limit.
func (l *limits) lengthAtMost(name string, v, limit units.Length) {
	if met := float64(v) <= float64(limit)*(1+rounding); l.wants(met) {
		l.add(met, "%s is %s, at most %s", name, both(v), both(limit))
	}
}

// rounding is what a dimension may miss a limit by, as in every comparison: the rounding of inches held
// in millimetres.
const rounding = calc.Slack

// both prints a length in both families of units, since a limit does not know
// its reader.
func both(l units.Length) string {
	return l.Format(units.US, -1) + " (" + l.Format(units.SI, -1) + ")"
}
