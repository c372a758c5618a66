package stud

import (
	"fmt"
	"math"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/calc"
	"endcast/internal/domain/units"
)

// Outcome is what an inspection of a weld collar ended with.
type Outcome string

// Outcomes. A stud that nobody looked at has none.
const (
	Unseen         Outcome = ""
	Full           Outcome = "full"            // collar all the way round
	GapFound       Outcome = "gap"             // part of the collar is missing, not yet dealt with
	RepairedFillet Outcome = "repaired_fillet" // the gap was closed with a fillet weld
	BentPass       Outcome = "bent_pass"       // bent away from the gap without a fracture
	BentFail       Outcome = "bent_fail"       // cracked or broke in the bend
	Rejected       Outcome = "rejected"        // not accepted, to be removed
	Removed        Outcome = "removed"         // ground off, not welded again
	Replaced       Outcome = "replaced"        // removed, welded again and the new collar is full
)

// Outcomes lists what an inspector can record, in the order a form shows.
func Outcomes() []Outcome {
	return []Outcome{Full, GapFound, RepairedFillet, BentPass, BentFail, Rejected, Removed, Replaced}
}

// Known reports whether o is one of Outcomes.
func (o Outcome) Known() bool {
	for _, k := range Outcomes() {
		if k == o {
			return true
		}
	}
	return false
}

// Words is the outcome for a reader.
func (o Outcome) Words() string {
	switch o {
	case Unseen:
		return "not inspected"
	case Full:
		return "collar full"
	case GapFound:
		return "collar incomplete, open"
	case RepairedFillet:
		return "repaired with a fillet"
	case BentPass:
		return "bent, sound"
	case BentFail:
		return "bent, cracked"
	case Rejected:
		return "rejected"
	case Removed:
		return "removed"
	case Replaced:
		return "replaced, collar full"
	default:
		return string(o)
	}
}

// Counts reports whether a stud with this outcome is part of the group. A
// missing piece of collar is a sign of missing fusion, so a stud counts only once
// its collar is full, repaired, or proven by the bend.
func Counts(o Outcome) bool {
	return o == Full || o == RepairedFillet || o == BentPass || o == Replaced
}

// Gap is a missing piece of collar: the clock hour of its middle, seen facing
// the web with twelve up, and its length round the collar.
type Gap struct {
	Clock  int
	Length units.Length
}

// Collar is one inspection of one stud.
type Collar struct {
	Outcome Outcome
	Gap     Gap // for an outcome other than Full; zero where it does not apply
	// What was done, where something was.
	FilletSize   units.Length
	FilletLength units.Length
	BendAngle    units.Angle
	BendClock    int // hour toward which the stud was bent
}

// Validate refuses a collar record that contradicts itself or a repair short of
// the rule. The error names field, value and limit.
func (c Collar) Validate(b basis.Basis, diameter units.Length) error {
	if !c.Outcome.Known() {
		return fmt.Errorf("collar outcome %q is not known", c.Outcome)
	}
	if c.Outcome == GapFound || c.Outcome == RepairedFillet || c.Outcome == BentPass || c.Outcome == BentFail {
		if err := c.Gap.validate(diameter); err != nil {
			return err
		}
	}
	switch c.Outcome {
	case RepairedFillet:
		r := Fillet(b, diameter, c.Gap)
		if !(float64(c.FilletSize) >= float64(r.Size)*(1-rounding)) {
			return fmt.Errorf("fillet size %s is less than %s", both(c.FilletSize), both(r.Size))
		}
		if !(float64(c.FilletLength) >= float64(r.Length)*(1-rounding)) {
			return fmt.Errorf("fillet length %s is less than %s, the gap and the overrun at each end", both(c.FilletLength), both(r.Length))
		}
	case BentPass, BentFail:
		r := Bend(b, c.Gap)
		// A proof bend is judged by eye against a template: a degree either way
		// is within what can be read.
		if !(float64(c.BendAngle) >= float64(r.Angle)-1) {
			return fmt.Errorf("bend of %.0f degrees is less than %.0f", c.BendAngle, r.Angle)
		}
		if turn := hours(c.BendClock, r.Clock); c.BendClock < 1 || c.BendClock > 12 || turn > 1 {
			return fmt.Errorf("bend toward %d o'clock is not away from the gap at %d: bend toward %d", c.BendClock, c.Gap.Clock, r.Clock)
		}
	}
	return nil
}

func (g Gap) validate(diameter units.Length) error {
	if g.Clock < 1 || g.Clock > 12 {
		return fmt.Errorf("collar gap position %d o'clock is not from 1 to 12", g.Clock)
	}
	most := units.Length(math.Pi) * diameter
	if !(g.Length > 0) || float64(g.Length) > float64(most)*(1+rounding) {
		return fmt.Errorf("collar gap length %s is not above 0 and at most %s, once round the stud", both(g.Length), both(most))
	}
	return nil
}

// hours is the shorter way round the clock between two hours.
func hours(a, b int) int {
	d := ((a-b)%12 + 12) % 12
	return min(d, 12-d)
}

// Repair is one thing that may be done about an incomplete collar.
type Repair struct {
	Outcome Outcome // what the collar becomes when it succeeds
	Words   string
	Size    units.Length // of a fillet
	Length  units.Length // of a fillet
	Angle   units.Angle  // of a bend
	Clock   int          // hour toward which to bend
	Clause  calc.Clause
}

var (
	filletClause = calc.Clause{Document: "AWS D1.1", Article: "7.7.3 (9.7.3 from 2020, from memory)", Edition: "2015", Tag: basis.SecondHand}
	bendClause   = calc.Clause{Document: "TI 809-26", Article: "chapter 6, after AWS D1.1", Tag: basis.Read}
)

// Fillet is the fillet weld that closes a gap: as long as the gap and an overrun
// past each end, of a size that goes with the stud.
func Fillet(b basis.Basis, diameter units.Length, g Gap) Repair {
	over := units.Length(b.Value(basis.CollarOverrun))
	size := units.Length(b.Value(filletKey(diameter)))
	r := Repair{Outcome: RepairedFillet, Size: size, Length: g.Length + 2*over, Clause: filletClause}
	r.Words = fmt.Sprintf("close the gap with a %s fillet weld at least %s long: the gap and %s past each end of it", both(size), both(r.Length), both(over))
	return r
}

// filletKey picks the size by the bands of the table; sizes in between, such as
// metric studs, go to the nearest band.
func filletKey(d units.Length) basis.Key {
	switch x := float64(d / units.Inch); {
	case x < 0.47:
		return basis.CollarFillet3
	case x < 0.5625:
		return basis.CollarFillet4
	case x < 0.95:
		return basis.CollarFillet5
	default:
		return basis.CollarFillet6
	}
}

// Bend is the bend that proves a stud in place of a repair: away from the gap,
// which puts the suspect side of the weld in tension. A stud that shows no
// fracture may stay bent where cover and forms allow it.
func Bend(b basis.Basis, g Gap) Repair {
	r := Repair{Outcome: BentPass, Angle: units.Angle(b.Value(basis.CollarBend)), Clock: (g.Clock+5)%12 + 1, Clause: bendClause}
	r.Words = fmt.Sprintf("bend the stud %.0f degrees toward %d o'clock, away from the gap; without a fracture it is accepted and may stay bent if cover and forms allow",
		float64(r.Angle), r.Clock)
	return r
}

// Repairs is what may be done about a gap, the usual choice first. A collar that
// is missing all round leaves nothing to repair: the stud is replaced. The error
// names what cannot be so.
func Repairs(b basis.Basis, diameter units.Length, g Gap) ([]Repair, error) {
	if !(diameter > 0) || math.IsInf(float64(diameter), 1) {
		return nil, fmt.Errorf("stud diameter %g mm is not above 0", float64(diameter))
	}
	if err := g.validate(diameter); err != nil {
		return nil, err
	}
	if float64(g.Length) >= math.Pi*float64(diameter)*(1-rounding) {
		return []Repair{{Outcome: Replaced, Clause: calc.Clause{Document: "AWS D1.1", Tag: basis.Memory},
			Words: "no collar at all: remove the stud, grind flush, fill pulled-out metal and grind it, weld a new stud and bend it"}}, nil
	}
	return []Repair{Fillet(b, diameter, g), Bend(b, g)}, nil
}
