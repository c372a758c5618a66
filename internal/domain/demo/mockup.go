package demo

import (
	"strconv"
	"time"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
)

// mockup tells of the trial casting: made in the yard in February, cut in March,
// looked at by the inspector and accepted by the engineer a day later.
func (t *teller) mockup() {
	start := day(2, 22).Add(10 * hour)
	size := func(v float64) *units.Length { x := in(v); return &x }
	fill := 14.0
	record := repair.MockupIn{CastAt: start, StandsFor: "all ends: the height and skew of 4F, the deepest form and the longest way to flow",
		Width: size(36), Height: size(30), Thickness: size(6), Head: size(12), Flow: size(9.1), FillMin: &fill, LeakFree: false,
		Obstructions: "32 studs 7/8 by 4 in on a plate with a machined-down web, a stiffener at mid-length, two gauges",
		Leaks:        "some drops at the foot of the form in the first minutes; the seal was doubled for the bridge",
		Note:         "Fed through a 2 in deck core. The top corner filled only with the vent on the far side open: vents stay open until they run full."}
	t.say("mockup record", authz.Inspector, start.Add(3*hour), nil, repair.RecordMockup{MockupIn: record})
	t.say("mockup pour", authz.Inspector, start.Add(5*minute), nil, repair.OpenPour{StartedAt: start.UTC(), Mockup: 1, Weather: "dry, 41 °F, in the shed", FormHead: size(42)})
	last := len(t.steps) - 1
	t.steps[last].At = start.Add(3*hour + 10*minute).UTC() // entered after the record that it belongs to
	placed, mix, air := start.Add(22*minute).UTC(), units.Temperature(19), units.Temperature(8)
	flow1, flow1Text := typed[units.Length](9.0, 1)
	flow2, flow2Text := typed[units.Length](9.2, 1)
	t.say("mockup batch", authz.Inspector, start.Add(3*hour+15*minute), nil, repair.AddBatch{Pour: 1, Batch: repair.BatchIn{MixedAt: start.Add(6 * minute).UTC(), PlacedAt: &placed,
		Flow1: &flow1, Flow2: &flow2, MixTemp: &mix, AirTemp: &air, Typed: repair.Typed{"flow_1_mm": flow1Text, "flow_2_mm": flow2Text}},
		Specimens: []repair.SpecimenSet{{Kind: "cyl_3x6", Curing: "field", NominalDays: 4, Count: 3, Purpose: "strip"}, {Kind: "cyl_3x6", Curing: "standard", NominalDays: 28, Count: 3, Purpose: "acceptance"}}})
	t.say("mockup finish", authz.Inspector, start.Add(3*hour+20*minute), nil, repair.FinishPour{Pour: 1, EndedAt: start.Add(40 * minute).UTC()})
	for _, set := range []struct {
		days float64
		ksi  []float64
	}{{4, []float64{15.6, 15.9, 15.4}}, {28, []float64{23.4, 24.1, 23.8}}} {
		for i, ksi := range set.ksi {
			at := placed.Add(time.Duration(24*set.days)*hour + time.Duration(10*(i+1))*minute)
			t.tell("mockup break "+strconv.Itoa(int(set.days))+"-"+strconv.Itoa(i), authz.Laboratory, at.Add(5*minute), nil, false, func(s *repair.Scope) (repair.Change, error) {
				n := 0
				for _, sp := range s.Specimens {
					if sp.NominalDays != set.days || sp.CastAt.Unix() != placed.Unix() {
						continue
					}
					if n == i {
						return crushed(sp.Mark, at, ksi), nil
					}
					n++
				}
				return nil, fault.New(fault.NotFound, "the mock-up has %d specimens of %g days", n, set.days)
			})
		}
	}
	record.SectionsCut = 3
	record.Voids = "none above 1/8 in at the studs; full to the top corner"
	record.FiberSpread = "even over the height; none of the three sections shows a plane without fibers"
	t.say("mockup cut", authz.Inspector, day(3, 22).Add(15*hour), nil, repair.CorrectMockup{Number: 1, MockupIn: record, Reason: "sawn through at three heights; sections added"})
	t.all("mockup inspector", authz.Inspector, day(3, 23).Add(15*hour), repair.DecideMockup{Number: 1, Decision: repair.MockupAccepted})
	t.all("mockup", authz.Engineer, day(3, 24).Add(14*hour), repair.DecideMockup{Number: 1, Decision: repair.MockupAccepted})
}

// crushed is the break of a 3 by 6 in cylinder at a strength in ksi.
func crushed(mark string, at time.Time, ksi float64) repair.RecordBreak {
	load, loadText := typed[units.Force](round(ksi*3.14159265/4*9, 0.1), 1)
	w, wText := typed[units.Length](3.0, 2)
	h, _ := typed[units.Length](5.95, 2)
	machine := 300 * units.Kip
	fracture := 1
	return repair.RecordBreak{Mark: mark, BrokenAt: at.UTC(), Load: load, Width: &w, Depth: &w, Height: &h, EndsGround: true, Machine: &machine, Fracture: &fracture,
		Typed: repair.Typed{"load_n": loadText, "width_mm": wText, "depth_mm": wText}}
}
