package encasement

import (
	"math"

	"endcast/internal/domain/calc"
	"endcast/internal/domain/units"
)

// Groups of checks.
const (
	repair = "repair" // strength: the least of these is the repaired capacity
	detail = "detail" // dimensions
)

// Keys of the checks.
const (
	KeyStuds       = "repair.studs"
	KeyFoot        = "repair.foot"
	KeyCompression = "repair.compression"
	KeyWeb         = "repair.web_beside"
	KeyStrip       = "repair.web_strip"
	KeyStudFoot    = "repair.stud_foot"
	KeyPanelShear  = "repair.panel_shear"
	KeyOneSided    = "repair.one_sided"
	KeyShare       = "repair.share"
	KeySlip        = "repair.slip"
	KeyCenter      = "repair.center"

	KeyBaseMetal   = "detail.base_metal"
	KeyStudHeight  = "detail.stud_height"
	KeyPitch       = "detail.pitch"
	KeyPitchUsual  = "detail.pitch_usual"
	KeySpacing     = "detail.spacing"
	KeyApart       = "detail.apart"
	KeySteelEdge   = "detail.steel_edge"
	KeyFlangeRoom  = "detail.flange_room"
	KeyStiffener   = "detail.stiffener"
	KeyDiaphragm   = "detail.diaphragm"
	KeySkewRoom    = "detail.skew_room"
	KeySideCover   = "detail.side_cover"
	KeyTopRoom     = "detail.top_room"
	KeyThickness   = "detail.thickness"
	KeySlenderness = "detail.slenderness"
	KeySeat        = "detail.seat"
	KeyMaterial    = "detail.material"
)

// Result is the outcome of all checks of one design.
type Result struct {
	Checks []calc.Check
	// Capacity is the largest factored reaction that every deciding strength
	// check allows; zero when the panel does not touch the flange.
	Capacity units.Force
	Governs  string // key of the check that sets it

	Designed  int         // studs in the design
	Counted   int         // of them accepted and on enough metal
	Effective float64     // studs that the counted group is worth
	PerStud   units.Force // factored resistance of one stud
	Required  int         // studs that this layout would need for the demand
}

// Passes reports whether every check that decides passes.
func (r Result) Passes() bool {
	for i := range r.Checks {
		if v := r.Checks[i].Verdict; v != calc.Passes && v != calc.Informs {
			return false
		}
	}
	return len(r.Checks) > 0
}

// First is the first check that decides and does not pass, nil when all do.
func (r Result) First() *calc.Check {
	for i := range r.Checks {
		if v := r.Checks[i].Verdict; v != calc.Passes && v != calc.Informs {
			return &r.Checks[i]
		}
	}
	return nil
}

// Check is the check with a key, nil when it was not made.
func (r Result) Check(key string) *calc.Check {
	for i := range r.Checks {
		if r.Checks[i].Key == key {
			return &r.Checks[i]
		}
	}
	return nil
}

// settle fills Capacity, Governs and Required from the checks.
func (r *Result) settle(demand units.Force) {
	least := math.Inf(1)
	for i := range r.Checks {
		c := &r.Checks[i]
		if c.Group != repair || c.Verdict == calc.Informs {
			continue
		}
		v := c.Resistance
		if !(v > 0) {
			v = 0
		}
		if v < least {
			least, r.Governs = v, c.Key
		}
	}
	if c := r.Check(KeySeat); c != nil && c.Verdict != calc.Passes && c.Verdict != calc.Informs {
		least, r.Governs = 0, KeySeat
	}
	if math.IsInf(least, 1) {
		least = 0
	}
	r.Capacity = units.Force(least)
	worth := float64(r.PerStud)
	if r.Counted > 0 && r.Effective > 0 {
		worth *= r.Effective / float64(r.Counted)
	}
	if q := float64(demand) / worth; q > 0 && q < 1e6 {
		r.Required = int(math.Ceil(q - 1e-9))
	}
}
