package uhpc

import (
	"fmt"
	"math"
	"strings"
	"time"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/calc"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/units"
)

// Specimen is one cylinder or cube from its casting to its break. What has not
// happened yet is zero.
type Specimen struct {
	Mark  string
	Batch string
	Kind  Kind
	Cure  Cure
	Duty  Duty
	Cast  time.Time
	// NominalHours is the age at which it is meant to be broken.
	NominalHours float64

	Broken time.Time
	Load   units.Force
	// Width holds two diameters at mid-height, or the two sides of the loaded
	// face of a cube; Height is along the load, zero if not measured.
	Width      [2]units.Length
	Height     units.Length
	EndsGround bool // of a cylinder
	// Fracture is the type of ASTM C39, 1 to 6; zero if not noted.
	Fracture int
	// MachineCapacity is the capacity of the testing machine, zero if not noted.
	MachineCapacity units.Force
	// Excluded is why a named person left it out of its set; empty if nobody did.
	Excluded string
}

// Timing says how the break lies to its age window.
type Timing string

// Timings.
const (
	NotBroken Timing = "not_broken"
	Early     Timing = "early"
	OnTime    Timing = "on_time"
	Late      Timing = "late"
)

// Break is what a broken specimen gives.
type Break struct {
	Area      units.Area
	Raw       units.Stress // load over measured area
	Factor    float64
	FactorTag basis.Tag
	Converted units.Stress // of a 3 x 6 in cylinder
	AgeHours  float64
	Timing    Timing
	// Counts tells whether it may stand in a set; Why lists what speaks against
	// it, and Notes what does not.
	Counts bool
	Why    []string
	Notes  []string
}

var (
	meanWidth = calc.Define(calc.Def{Symbol: "d_m", Name: "mean diameter", Expr: "(d_1 + d_2)/2", Dim: calc.Length,
		Params: []calc.Param{{Symbol: "d_1", Name: "diameter", Dim: calc.Length}, {Symbol: "d_2", Name: "diameter at right angles", Dim: calc.Length}},
		Clause: calc.Clause{Document: "ASTM C39", Tag: basis.Memory}})
	roundArea = calc.Define(calc.Def{Symbol: "A", Name: "area of the loaded face", Expr: "pi*d_m^2/4", Dim: calc.Area,
		Params: []calc.Param{{Symbol: "d_m", Name: "mean diameter", Dim: calc.Length}},
		Clause: calc.Clause{Document: "ASTM C39", Tag: basis.Memory}})
	squareArea = calc.Define(calc.Def{Symbol: "A", Name: "area of the loaded face", Expr: "b_1*b_2", Dim: calc.Area,
		Params: []calc.Param{{Symbol: "b_1", Name: "side", Dim: calc.Length}, {Symbol: "b_2", Name: "other side", Dim: calc.Length}},
		Clause: calc.Clause{Document: "ASTM C109", Tag: basis.Memory}})
	rawStrength = calc.Define(calc.Def{Symbol: "f_raw", Name: "strength as broken", Expr: "P/A", Dim: calc.Stress,
		Params: []calc.Param{{Symbol: "P", Name: "greatest load", Dim: calc.Force}, {Symbol: "A", Name: "area of the loaded face", Dim: calc.Area}},
		Clause: calc.Clause{Document: "ASTM C39", Tag: basis.Memory}})
	converted = calc.Define(calc.Def{Symbol: "f_c", Name: "strength of a 3 x 6 in cylinder", Expr: "k*f_raw", Dim: calc.Stress,
		Params: []calc.Param{{Symbol: "k", Name: "shape factor", Dim: calc.Scalar}, {Symbol: "f_raw", Name: "strength as broken", Dim: calc.Stress}},
		Clause: calc.Clause{Document: "shape factor of the design basis", Tag: basis.Proposal}})
)

// Validate refuses what cannot be true: a *fault.Invalid that names each field.
// What is true but not as it should be (an early break, unground ends) is kept
// and reported by Break.
func (s Specimen) Validate(b basis.Basis) error {
	v := &fault.Invalid{}
	if strings.TrimSpace(s.Mark) == "" {
		v.Add("mark", s.Mark, "a mark is needed")
	}
	info, ok := s.Kind.Info()
	switch {
	case !ok:
		v.Add("kind", string(s.Kind), "no kind of specimen is called %q", string(s.Kind))
	case info.Refused != "":
		v.Add("kind", string(s.Kind), "%s is %s", info.Name, info.Refused)
	}
	if !s.Cure.Known() {
		v.Add("cure", string(s.Cure), "cure must be standard, field or match, got %q", string(s.Cure))
	}
	if !s.Duty.Known() {
		v.Add("duty", string(s.Duty), "the part that the laboratory plays must be named, got %q", string(s.Duty))
	}
	if s.Cast.IsZero() {
		v.Add("cast", "", "the time of casting is needed")
	}
	if !(s.NominalHours > 0 && s.NominalHours <= 24*3650) {
		v.Add("nominal_age", fmt.Sprint(s.NominalHours), "nominal age must be above 0 and at most 3650 days, got %g hours", s.NominalHours)
	}
	if !s.Broken.IsZero() {
		s.validateBreak(v, b, info)
	} else if s.Load != 0 {
		v.Add("broken", "", "a load of %s was entered without a time of breaking", both(units.Forces, float64(s.Load)))
	}
	return v.Err()
}

func (s Specimen) validateBreak(v *fault.Invalid, b basis.Basis, info KindInfo) {
	if !s.Cast.IsZero() && !s.Broken.After(s.Cast) {
		v.Add("broken", s.Broken.Format(time.RFC3339), "time of breaking must be after casting at %s, got %s",
			s.Cast.Format("2006-01-02 15:04"), s.Broken.Format("2006-01-02 15:04"))
	}
	if !finite(float64(s.Load)) || s.Load <= 0 {
		v.Add("load", fmt.Sprint(float64(s.Load)), "greatest load must be above 0, got %s", both(units.Forces, float64(s.Load)))
		return
	}
	if !finite(float64(s.MachineCapacity)) || s.MachineCapacity < 0 {
		v.Add("machine", fmt.Sprint(float64(s.MachineCapacity)), "capacity of the machine cannot be below 0, got %s", both(units.Forces, float64(s.MachineCapacity)))
	} else if s.MachineCapacity > 0 && s.Load > s.MachineCapacity {
		v.Add("load", fmt.Sprint(float64(s.Load)), "greatest load cannot be above the machine's capacity of %s, got %s",
			both(units.Forces, float64(s.MachineCapacity)), both(units.Forces, float64(s.Load)))
	}
	if s.Fracture < 0 || s.Fracture > 6 {
		v.Add("fracture", fmt.Sprint(s.Fracture), "type of fracture must be from 1 to 6, got %d", s.Fracture)
	}
	if info.Kind == "" {
		return
	}
	// A measured size far from the nominal one is a slip of typing or of the kind.
	slack := b.Value(basis.DimensionSpread)
	size := func(field string, got, nominal units.Length) bool {
		if finite(float64(got)) && math.Abs(float64(got-nominal)) <= slack*float64(nominal) {
			return true
		}
		v.Add(field, fmt.Sprint(float64(got)), "%s of a %s must be within %.3g %% of %s, got %s", strings.ReplaceAll(field, "_", " "), info.Name,
			100*slack, both(units.Lengths, float64(nominal)), both(units.Lengths, float64(got)))
		return false
	}
	first := size("width_1", s.Width[0], info.Width)
	second := size("width_2", s.Width[1], info.Width)
	// Grinding shortens a cylinder; the height has a wider reach and its own check.
	if s.Height != 0 && !(finite(float64(s.Height)) && s.Height > info.Height/2 && s.Height <= info.Height*units.Length(1+slack)) {
		v.Add("height", fmt.Sprint(float64(s.Height)), "height of a %s must be from %s to %s, got %s", info.Name,
			both(units.Lengths, float64(info.Height)/2), both(units.Lengths, float64(info.Height)*(1+slack)), both(units.Lengths, float64(s.Height)))
	}
	if first && second {
		raw := float64(s.Load) / float64(s.area(nil, info))
		if most := b.Value(basis.StrengthPossible); raw > most {
			v.Add("load", fmt.Sprint(float64(s.Load)), "strength would be %s; above %s an entry is taken for a slip",
				both(units.Stresses, raw), both(units.Stresses, most))
		}
	}
}

// AlreadyBroken is the refusal of a second break of one specimen.
func AlreadyBroken(s Specimen) error {
	return fault.New(fault.Duplicate, "specimen %s was broken already, on %s: a correction needs a reason", s.Mark, s.Broken.Format("2006-01-02 15:04"))
}

func (s Specimen) area(p *calc.Pad, info KindInfo) units.Area {
	a, c := float64(s.Width[0]), float64(s.Width[1])
	if info.Cube {
		return units.Area(squareArea.Eval(p, a, c))
	}
	return units.Area(roundArea.Eval(p, meanWidth.Eval(p, a, c)))
}

// Break computes the strength of a specimen that passed Validate, with its sheet
// on p if p is not nil. Of one that is not broken only the timing is set.
func (s Specimen) Break(p *calc.Pad, b basis.Basis) Break {
	info, _ := s.Kind.Info()
	r := Break{Timing: NotBroken}
	if s.Broken.IsZero() {
		r.Why = []string{"not broken yet"}
		return r
	}
	r.AgeHours = s.Broken.Sub(s.Cast).Hours()
	tolerance := ToleranceHours(s.NominalHours, b)
	switch off := r.AgeHours - s.NominalHours; {
	case off < -tolerance:
		r.Timing = Early
		r.Why = append(r.Why, fmt.Sprintf("broken at %s, due at %s, at the earliest %s", AgeText(r.AgeHours), AgeText(s.NominalHours), AgeText(s.NominalHours-tolerance)))
	case off > tolerance:
		r.Timing = Late
		r.Why = append(r.Why, fmt.Sprintf("broken at %s, due at %s, at the latest %s", AgeText(r.AgeHours), AgeText(s.NominalHours), AgeText(s.NominalHours+tolerance)))
	default:
		r.Timing = OnTime
	}
	r.Area = s.area(p, info)
	r.Raw = units.Stress(rawStrength.Eval(p, float64(s.Load), float64(r.Area)))
	var source string
	r.Factor, source, r.FactorTag = info.FactorIn(b)
	p.Given("k", "shape factor of a "+info.Name, calc.Scalar, r.Factor, source)
	r.Converted = units.Stress(converted.Eval(p, r.Factor, float64(r.Raw)))

	if !info.Cube {
		if !s.EndsGround {
			r.Why = append(r.Why, "ends not ground")
		}
		mean := float64(s.Width[0]+s.Width[1]) / 2
		if most := b.Value(basis.DiameterSpread); math.Abs(float64(s.Width[0]-s.Width[1])) > most*mean {
			r.Why = append(r.Why, fmt.Sprintf("the two diameters differ by %.1f %% of their mean, at most %.1f %%", 100*math.Abs(float64(s.Width[0]-s.Width[1]))/mean, 100*most))
		}
		if least := b.Value(basis.SlenderMin); s.Height != 0 && float64(s.Height)/mean < least {
			r.Why = append(r.Why, fmt.Sprintf("height over diameter is %.2f, at least %.2f", float64(s.Height)/mean, least))
		}
		if s.Fracture == 5 || s.Fracture == 6 {
			r.Notes = append(r.Notes, "fracture at one end: look at the ends and the alignment")
		}
	}
	if s.MachineCapacity > 0 && float64(s.MachineCapacity) < b.Value(basis.MachineReserve)*float64(s.Load) {
		r.Notes = append(r.Notes, fmt.Sprintf("the machine has less than %.2f times this load in reserve", b.Value(basis.MachineReserve)))
	}
	if s.Excluded != "" {
		r.Why = append(r.Why, "left out: "+s.Excluded)
	}
	r.Counts = len(r.Why) == 0
	return r
}

// ExpectedLoad is the load at which a specimen of nominal size and the given
// strength of a 3 x 6 in cylinder breaks.
func ExpectedLoad(k Kind, strength units.Stress, b basis.Basis) units.Force {
	info, ok := k.Info()
	if !ok {
		return units.Force(math.NaN())
	}
	factor, _, _ := info.FactorIn(b)
	area := Specimen{Width: [2]units.Length{info.Width, info.Width}}.area(nil, info)
	return units.Force(float64(strength) / factor * float64(area))
}

// MachineSuits returns nil if the machine has the reserve that the design basis
// asks for over the expected load.
func MachineSuits(k Kind, strength units.Stress, capacity units.Force, b basis.Basis) error {
	load, reserve := ExpectedLoad(k, strength, b), b.Value(basis.MachineReserve)
	if float64(capacity) >= reserve*float64(load) {
		return nil
	}
	return fault.New(fault.Refused, "machine capacity must be at least %.3g times the expected load of %s, got %s",
		reserve, both(units.Forces, float64(load)), both(units.Forces, float64(capacity)))
}

func finite(x float64) bool { return !math.IsNaN(x) && !math.IsInf(x, 0) }

// both prints a value in the two families of units: an error does not know its
// reader.
func both(k units.Kind, v float64) string {
	us, si := k.Format(v, units.US, -1), k.Format(v, units.SI, -1)
	if us == si {
		return us
	}
	return us + " (" + si + ")"
}
