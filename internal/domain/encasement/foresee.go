package encasement

import (
	"math"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/girder"
	"endcast/internal/domain/units"
)

// Foreseen is the load share that a design leads one to expect, small enough to
// be stored at every edit and compared later with strain records. It comes from
// the row model under three laws of load and slip, none confirmed in UHPC, so
// shares are a range. It decides nothing; the design rests on Evaluate. Forces
// are N, lengths mm.
type Foreseen struct {
	// Service is the reaction in service, what was in the web at hardening left
	// there, the corroded web acting.
	Service Outlook `json:"service"`
	// Strength is the factored reaction: with the web held at its cap where one
	// was given, otherwise with the web path lost, where the panel takes it all.
	Strength Outlook `json:"strength"`
	WebLost  bool    `json:"web_lost"` // Strength is without the web
	// ReductionLow and ReductionHigh are the fall of web strain below the studs
	// for load placed after hardening: 1 - web force with the panel over web force
	// without it, in service. A bar model of the web: bending and the spread of
	// the reaction near the bearing are not in it.
	ReductionLow  float64 `json:"reduction_low"`
	ReductionHigh float64 `json:"reduction_high"`
	// StudResistance is the factored resistance of one stud.
	StudResistance units.Force `json:"stud_resistance_n"`
}

// Outlook is one state of load under the laws that found a balance.
type Outlook struct {
	Total     units.Force  `json:"total_n"`
	Before    units.Force  `json:"before_n"`   // in the web when the panel hardened
	ShareLow  float64      `json:"share_low"`  // panel's part of Total - Before
	ShareHigh float64      `json:"share_high"` //
	PanelLow  units.Force  `json:"panel_low_n"`
	PanelHigh units.Force  `json:"panel_high_n"`
	WebLow    units.Force  `json:"web_low_n"` // web below the studs, with Before
	WebHigh   units.Force  `json:"web_high_n"`
	Peak      units.Force  `json:"peak_stud_n"`  // hardest worked stud
	SlipTop   units.Length `json:"slip_top_mm"`  // largest of the laws
	SlipFoot  units.Length `json:"slip_foot_mm"` //
	Closure   float64      `json:"closure"`      // largest (panel + web - load)/load
	Rows      []RowOutlook `json:"rows"`         // from the top
	Laws      []LawOutlook `json:"laws"`
	Unsolved  []string     `json:"unsolved,omitempty"` // laws that found no balance
}

// RowOutlook is a row of studs: where it stands, the force on one stud of it, and
// what is left below it in the web of the load placed after hardening.
type RowOutlook struct {
	Z       units.Length `json:"z_mm"` // above the flange
	Studs   int          `json:"studs"`
	Low     units.Force  `json:"stud_low_n"`
	High    units.Force  `json:"stud_high_n"`
	WebLow  float64      `json:"web_left_low"` // of the load placed after hardening
	WebHigh float64      `json:"web_left_high"`
}

// LawOutlook is the outcome under one law.
type LawOutlook struct {
	Law   string      `json:"law"`
	Share float64     `json:"share"`
	Peak  units.Force `json:"peak_stud_n"`
}

// ReductionAt is the range of the fall of web strain at a height above the
// flange, for load placed after hardening, in service: nothing above the studs,
// all of it below them. A height on a row counts as above it.
func (f *Foreseen) ReductionAt(z units.Length) (low, high float64) {
	for _, r := range f.Service.Rows {
		if z >= r.Z {
			break
		}
		low, high = 1-r.WebHigh, 1-r.WebLow
	}
	return low, high
}

// Foresee runs the row model for Foreseen. The arguments are those of Evaluate;
// load.Service of zero stands for load.Total. The error is ErrNoShare where no
// stud counts, where no law found a balance in one of the two states, or where
// the web held at least as much as the load or its cap at hardening.
func Foresee(b basis.Basis, g girder.Geometry, steel Steel, d Design, load Loading, accepted func(mark string) bool) (Foreseen, error) {
	if steel == nil {
		steel = AsNew{g.Section}
	}
	w := measure(b, g, steel, d, accepted)
	if w.counted == 0 {
		return Foreseen{}, ErrNoShare
	}
	m, _ := w.rowModel(nil, b, g, steel, d, load)
	strength := d.stud(b).Strength(nil, b)
	laws := shareLaws(b, strength.Nominal)
	zs := w.rowHeights(d)
	var s rowSolver
	out := Foreseen{StudResistance: strength.Factored, WebLost: !(load.WebCap > 0)}
	service := load.Service
	if service == 0 {
		service = load.Total
	}
	out.Service = s.outlook(m, laws, zs, service, load.Before)
	if out.WebLost {
		m.WebBase = 0
		out.Strength = s.outlook(m, laws, zs, load.Total, 0)
	} else {
		out.Strength = s.outlook(m, laws, zs, load.Total, load.Before)
	}
	if len(out.Service.Laws) == 0 || len(out.Strength.Laws) == 0 {
		return out, ErrNoShare
	}
	out.ReductionLow, out.ReductionHigh = out.Service.ShareLow, out.Service.ShareHigh
	return out, nil
}

// outlook runs one state under all laws.
func (s *rowSolver) outlook(m RowModel, laws [3]shareLaw, zs []units.Length, total, before units.Force) Outlook {
	out := Outlook{Total: total, Before: before, Rows: make([]RowOutlook, len(m.Rows)), Laws: make([]LawOutlook, 0, len(laws))}
	for i, r := range m.Rows {
		out.Rows[i] = RowOutlook{Z: zs[i], Studs: r.Studs}
	}
	m.Rows[0].Load = total
	for _, l := range laws {
		m.Law = l.law
		r, err := s.staged(m, before)
		if err != nil {
			out.Unsolved = append(out.Unsolved, l.name)
			continue
		}
		out.take(l.name, r, len(out.Laws) == 0)
	}
	return out
}

// take widens the outlook by the outcome of one law.
func (o *Outlook) take(law string, r Staged, first bool) {
	o.Laws = append(o.Laws, LawOutlook{Law: law, Share: r.Fraction, Peak: r.Peak})
	if first {
		o.ShareLow, o.ShareHigh = r.Fraction, r.Fraction
		o.PanelLow, o.PanelHigh, o.WebLow, o.WebHigh = r.Panel, r.Panel, r.WebTotal, r.WebTotal
	}
	o.ShareLow, o.ShareHigh = min(o.ShareLow, r.Fraction), max(o.ShareHigh, r.Fraction)
	o.PanelLow, o.PanelHigh = min(o.PanelLow, r.Panel), max(o.PanelHigh, r.Panel)
	o.WebLow, o.WebHigh = min(o.WebLow, r.WebTotal), max(o.WebHigh, r.WebTotal)
	o.Peak = max(o.Peak, r.Peak)
	o.SlipTop, o.SlipFoot = max(o.SlipTop, r.SlipTop), max(o.SlipFoot, r.SlipFoot)
	o.Closure = max(o.Closure, math.Abs(r.Closure))
	left := 1.0
	for i := range o.Rows {
		row := &o.Rows[i]
		q := r.Rows[i] / units.Force(max(1, row.Studs))
		if r.Load > 0 {
			left -= float64(r.Rows[i] / r.Load)
		}
		if first {
			row.Low, row.High, row.WebLow, row.WebHigh = q, q, left, left
		}
		row.Low, row.High = min(row.Low, q), max(row.High, q)
		row.WebLow, row.WebHigh = min(row.WebLow, left), max(row.WebHigh, left)
	}
}

// rowHeights is the height of each row of the row model, from the top.
func (w *layout) rowHeights(d Design) []units.Length {
	zs := w.heights(d)
	out := make([]units.Length, 0, len(zs))
	for _, z := range zs {
		if n := len(out); n == 0 || !(float64(out[n-1])-z < float64(d.StudDiameter)/2) {
			out = append(out, units.Length(z))
		}
	}
	return out
}
