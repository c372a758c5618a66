package demo

import (
	"strconv"
	"time"

	"endcast/internal/domain/authz"
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
	p := pour{key: "mockup", at: start}
	placed, mix, air := start.Add(22*minute).UTC(), units.Temperature(19), units.Temperature(8)
	flow1, flow1Text := typed[units.Length](9.0, 1)
	flow2, flow2Text := typed[units.Length](9.2, 1)
	started, begun, made := start.Add(-6*minute).UTC(), start.Add(10*minute).UTC(), p.premix()
	batch := repair.BatchIn{StartedAt: &started, MixedAt: start.Add(6 * minute).UTC(), PlaceStart: &begun, PlacedAt: &placed, Lot: p.lot(), PremixMadeOn: &made,
		Flow1: &flow1, Flow2: &flow2, MixTemp: &mix, AirTemp: &air, SteelTemp: &air, Typed: repair.Typed{"flow_1_mm": flow1Text, "flow_2_mm": flow2Text}, Note: "the whole of the mixer: 1.1 cu ft"}
	sets := []repair.SpecimenSet{{Kind: "cyl_3x6", Curing: "field", NominalDays: 4, Count: 3, Purpose: "strip"}, {Kind: "cyl_3x6", Curing: "standard", NominalDays: 28, Count: 3, Purpose: "acceptance"}}
	for _, days := range []float64{2, 3, 7, 14} { // for the strength curve
		sets = append(sets, repair.SpecimenSet{Kind: "cyl_3x6", Curing: "standard", NominalDays: days, Count: 3, Purpose: "information"})
	}
	t.say("mockup batch", authz.Inspector, start.Add(3*hour+15*minute), nil, repair.AddBatch{Pour: 1, Batch: batch, Specimens: sets})
	t.say("mockup finish", authz.Inspector, start.Add(3*hour+20*minute), nil, repair.FinishPour{Pour: 1, EndedAt: start.Add(40 * minute).UTC()})
	warm := heat{key: p.key, covered: placed.Add(10 * minute), mix: 66}
	box := warm.table([]string{"specimen"}, start.Add(98*hour), 30*minute)
	t.tell("mockup log", authz.Contractor, start.Add(99*hour), nil, false, func(*repair.Scope) (repair.Change, error) {
		return logChange(1, "specimen", "box-mockup.csv", warm.covered, box, 0)
	})
	for _, days := range []float64{2, 3, 4, 7, 14, 28} {
		at := placed.Add(time.Duration(24*days)*hour + 10*minute)
		mean := gained(days)
		if days == 4 {
			mean = gained(warm.age("specimen", at))
		}
		t.tell("mockup breaks "+strconv.Itoa(int(days)), authz.Laboratory, at.Add(hour), nil, false, func(s *repair.Scope) (repair.Change, error) {
			ch := repair.RecordBreaks{}
			for _, sp := range s.Specimens {
				if n := len(ch.Breaks); sp.NominalDays == days && sp.CastAt.Unix() == placed.Unix() {
					k := strconv.Itoa(int(days))
					ch.Breaks = append(ch.Breaks, crushed(sp.Mark, at.Add(time.Duration(10*n)*minute), normal(normal(mean, 0.15, "mockup", k), 0.25, "mockup", k, strconv.Itoa(n))))
				}
			}
			return ch, nil
		})
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
