package exchange

import (
	"regexp"
	"slices"
	"strconv"

	"endcast/internal/domain/units"
)

var (
	measured = regexp.MustCompile(`(?:([0-9.]+) to )?([0-9.]+) (mm|MPa)`)
	found    = regexp.MustCompile(`, got [0-9.e+-]+`)
)

// limitIn says a limit of the rules in the family of units of a column: the rules
// speak in mm and MPa. The value found is left out, since it stands beside.
func limitIn(limit, unit string, sys units.System) string {
	if unit != "" {
		sys = units.SI
		for _, k := range []units.Kind{units.Lengths, units.Spans, units.Forces, units.Stresses} {
			if slices.Contains([]string{k.Label(units.US), "psi", "yd"}, unit) {
				sys = units.US
			}
		}
	}
	limit = found.ReplaceAllString(limit, "")
	if sys == units.SI {
		return limit
	}
	return measured.ReplaceAllStringFunc(limit, func(s string) string {
		m := measured.FindStringSubmatch(s)
		k := units.Lengths
		if m[3] == "MPa" {
			k = units.Stresses
		}
		v, err := strconv.ParseFloat(m[2], 64)
		if err != nil {
			return s
		}
		out := k.Format(v, sys, -1)
		if low, err := strconv.ParseFloat(m[1], 64); err == nil {
			from := m[1]
			if low != 0 {
				from = k.Figure(low, sys, -1)
			}
			out = from + " to " + out
		}
		return out
	})
}

// refuseIn is refuse with a limit of the rules.
func (r *row) refuseIn(column, limit string) {
	r.refuse(column, "%s", limitIn(limit, r.h.unit[column], r.opt.System))
}
