package web

import (
	"context"

	"endcast/internal/domain/repair"
	"endcast/internal/domain/uhpc"
	"endcast/internal/domain/units"
	"endcast/views/casting"
	"endcast/views/ui"
)

// capacities are what the ends of a casting carry now, while it hardens: with what
// breaks have proven, which counts, and with what is expected, which decides nothing.
// An end that is closed, has no design in force or was cast again later is left out.
// Nothing of it is stored: what is expected moves with the clock.
func (c *pourReader) capacities(ctx context.Context) ([]casting.CapacityRow, error) {
	var out []casting.CapacityRow
	b, now := c.scope.Basis(), c.s.store.Today(c.scope.Program)
	curve, err := c.s.programCurve(ctx, c.scope.Program.ID, b)
	if err != nil {
		return nil, err
	}
	for _, rec := range c.scope.Ends {
		if len(rec.State) == 0 || rec.State[0].Closed {
			continue
		}
		var failed error
		x := rec.Today(c.scope, now, curve.curveFor, func(p repair.Pour) []uhpc.Sensor {
			list, err := c.s.sensorsOf(ctx, c.scope.CuringLogs, p.ID, rec.End.ID, b)
			if err != nil {
				failed = err
			}
			return list
		}, nil)
		if failed != nil {
			return nil, failed
		}
		if x == nil || x.Pour.ID != c.pour.ID {
			continue
		}
		out = append(out, c.capacityRow(rec, x))
	}
	return out, nil
}

func (c *pourReader) capacityRow(rec *repair.Record, x *repair.Today) casting.CapacityRow {
	force := func(f units.Force) string { return f.Format(c.sys, -1) }
	strength := func(f units.Stress) string { return units.Stresses.Format(float64(f), c.sys, 2) }
	row := casting.CapacityRow{Name: rec.End.Name, Href: c.head.Path("ends", rec.End.Name) + "#today", Demand: "–", Steel: force(x.Steel), ProvenStrength: "no strength yet", Proven: force(x.Steel),
		Expected: "–", Promised: force(x.Promised)}
	counts := x.Steel
	if x.Proven > 0 {
		row.ProvenStrength, row.Proven, counts = strength(x.Proven), force(x.WithProven), x.WithProven
	}
	if x.Refused == "" {
		row.Expected = force(x.WithNow)
		row.Band = []string{force(x.WithLow) + " to " + force(x.WithHigh), strength(x.Now.Low) + " to " + strength(x.Now.High)}
	} else {
		row.Band = []string{ui.Sentence(x.Refused)}
	}
	if x.Demand > 0 {
		row.Demand = force(x.Demand)
		row.Mark = ui.Mark{State: ui.Good, Text: "above the demand"}
		if counts < x.Demand {
			row.Mark = ui.Mark{State: ui.Stop, Text: "below the demand"}
		}
	}
	return row
}
