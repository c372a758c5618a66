package demand

import (
	"strconv"
	"strings"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/units"
)

// Class says what a vehicle stands for, which decides its factors.
type Class string

// Classes of vehicle.
const (
	Design         Class = "design"          // notional load of new bridges
	Legal          Class = "legal"           // ordinary legal trucks
	SpecialHauling Class = "special_hauling" // short trucks with closely spaced axles
	Emergency      Class = "emergency"       // fire apparatus
	Permit         Class = "permit"          // a vehicle on a permit of its own
	Fatigue        Class = "fatigue"         // stress range; never rated
)

// Classes lists every class, in the order that a form shows.
func Classes() []Class { return []Class{Design, Legal, SpecialHauling, Emergency, Permit, Fatigue} }

// Words is the class for a reader.
func (c Class) Words() string {
	switch c {
	case Design:
		return "design load"
	case Legal:
		return "legal load"
	case SpecialHauling:
		return "special hauling vehicle"
	case Emergency:
		return "emergency vehicle"
	case Permit:
		return "permit vehicle"
	case Fatigue:
		return "fatigue truck"
	}
	return "unknown"
}

func (c Class) known() bool { return c.Words() != "unknown" }

// Axle is one axle. Gap is the distance to the axle before it and zero for the
// first. GapMax, where it is not zero, says that the gap may be anything from Gap to
// GapMax; the placement that gives most counts.
type Axle struct {
	Load   units.Force  `json:"load"`
	Gap    units.Length `json:"gap"`
	GapMax units.Length `json:"gap_max,omitzero"`
}

// Truck is a train of axles, first axle in front, with the lane load that belongs to
// it. It can travel in both directions.
type Truck struct {
	Code  string `json:"code"` // short and unique, for example "SU6"
	Name  string `json:"name"`
	Class Class  `json:"class"`
	Axles []Axle `json:"axles"`
	// Gross is the published gross weight, zero where none is stated. Validate
	// compares it with the sum of the axles.
	Gross units.Force `json:"gross,omitzero"`
	// Lane is a load per length over the whole span, N/mm, without impact, and
	// LanePoint one concentrated load that goes with it. They act beside the axles
	// or, with LaneAlone, in place of them if that gives more; then they take impact.
	Lane      float64     `json:"lane,omitzero"`
	LanePoint units.Force `json:"lane_point,omitzero"`
	LaneAlone bool        `json:"lane_alone,omitzero"`
	// Load names the load that this train is one alternative of, for example HL-93:
	// of the trains with the same name the one that gives most counts, and results go
	// by that name. Empty: the truck stands for itself.
	Load string `json:"load,omitzero"`
	// Method restricts the truck to one method; empty for both.
	Method Method `json:"method,omitzero"`
	// OneLane says that it runs alone in one lane: its share is that of one lane with
	// the multiple presence taken out.
	OneLane bool `json:"one_lane,omitzero"`
	// Gamma is the live-load factor that a permit names; zero for the setting.
	Gamma float64 `json:"gamma,omitzero"`
	// Over is the span above which the load counts at all; zero for any span.
	Over   units.Length `json:"over,omitzero"`
	Source string       `json:"source"`
	Tag    basis.Tag    `json:"tag"`
}

// Title is the name that results go by: Load, or Code for a truck by itself.
func (t Truck) Title() string {
	if t.Load != "" {
		return t.Load
	}
	return t.Code
}

// GVW is the gross weight, the sum of the axles.
func (t Truck) GVW() units.Force {
	var sum units.Force
	for _, a := range t.Axles {
		sum += a.Load
	}
	return sum
}

// Wheelbase is the distance from the first axle to the last with every variable gap
// at its shortest.
func (t Truck) Wheelbase() units.Length {
	var sum units.Length
	for i, a := range t.Axles {
		if i > 0 {
			sum += a.Gap
		}
	}
	return sum
}

// serves reports whether the truck counts for a method on a span.
func (t Truck) serves(m Method, span units.Length) bool {
	return (t.Method == "" || t.Method == m) && span > t.Over
}

// Limits of what a vehicle can look like, to catch a wrong unit. Common practice, no
// source.
const (
	mostAxles   = 40
	heaviest    = 1.0e6    // N on one axle
	longestGap  = 100000.0 // mm
	heaviestUDL = 200.0    // N/mm
	longestSpan = 400000.0 // mm
	longestText = 200
	grossAgrees = 0.005 // part of the published gross weight
)

// Validate refuses a vehicle that cannot exist. The error is a *fault.Invalid that
// lists every field with its limit.
func (t Truck) Validate() error {
	var v refusals
	if s := strings.TrimSpace(t.Code); s == "" || len(t.Code) > 40 {
		v.Add("code", t.Code, "must be 1 to 40 characters, got %d", len(t.Code))
	} else if strings.EqualFold(s, "new") || s == "." || s == ".." || strings.ContainsAny(s, "/\\?#%") {
		v.Add("code", t.Code, "is part of the address of its page: must have none of / \\ ? # % and be none of new, one dot or two, got %q", t.Code)
	}
	if len(t.Name) > longestText {
		v.Add("name", t.Name[:40], "must be at most %d characters, got %d", longestText, len(t.Name))
	}
	if !t.Class.known() {
		v.Add("class", string(t.Class), "must be a known class of vehicle, got %q", string(t.Class))
	}
	if t.Method != "" && !t.Method.Known() {
		v.Add("method", string(t.Method), "must be lrfr, load_factor or empty, got %q", string(t.Method))
	}
	if n := len(t.Axles); n < 1 || n > mostAxles {
		v.Add("axles", strconv.Itoa(n), "must be 1 to %d axles, got %d", mostAxles, n)
	}
	for i, a := range t.Axles {
		if own := a.refusals(i == 0); len(own.Fields) > 0 {
			v.join(at("axles", i), own.Fields)
		}
	}
	if g, sum := float64(t.Gross), float64(t.GVW()); g != 0 {
		v.find(g > 0 && g-sum <= grossAgrees*g && sum-g <= grossAgrees*g, "gross", g, "agree with the sum of the axles, # N", sum)
	}
	v.find(t.Gamma == 0 || t.Gamma >= 1 && t.Gamma <= 3, "gamma", t.Gamma, "be 0 for the setting, or from 1 to 3")
	lane, point, over := t.Lane, float64(t.LanePoint), float64(t.Over)
	v.find(lane >= 0 && lane <= heaviestUDL, "lane", lane, "be from 0 to # N/mm", heaviestUDL)
	v.find(point >= 0 && point <= heaviest, "lane_point", point, "be from 0 to # N", heaviest)
	if t.LaneAlone && lane == 0 {
		v.Add("lane", "0", "must be more than 0 where it stands in place of the axles, got 0")
	}
	v.find(over >= 0 && over <= longestSpan, "over", over, "be from 0 to # mm", longestSpan)
	return v.Err()
}

func (a Axle) refusals(first bool) refusals {
	var v refusals
	load, gap, most := float64(a.Load), float64(a.Gap), float64(a.GapMax)
	v.find(load > 0 && load <= heaviest, "load", load, "be more than 0 and at most # N", heaviest)
	if first {
		v.find(gap == 0, "gap", gap, "be 0, since no axle is before the first")
		v.find(most == 0, "gap_max", most, "be 0, since no axle is before the first")
		return v
	}
	v.find(gap > 0 && gap <= longestGap, "gap", gap, "be more than 0 and at most # mm", longestGap)
	v.find(most == 0 || most >= gap && most <= longestGap, "gap_max", most, "be 0 for a fixed gap, or from # to # mm", gap, longestGap)
	return v
}
