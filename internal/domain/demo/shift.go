package demo

import (
	"fmt"
	"time"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/quality"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
)

// testStuds are the set-up test of the shift at an end: two studs beside the web. In
// the week of damp ferrules the first pair fails and a second, dry, passes.
func (e end) testStuds() {
	at := e.weld.Add(55 * minute)
	welder := pick([]string{"W-3", "W-8"}, e.name, "welder")
	amps, secs, six := round(between(1380, 1560, e.name, "amps"), 10), round(between(0.7, 0.85, e.name, "secs"), 0.01), 6
	lift := in(0.094)
	test := func(key string, minutes int, spoil func(*repair.RecordTestStuds)) {
		e.tell(e.key("test studs", key), authz.Inspector, at.Add(time.Duration(minutes)*minute), e.ref, false, func(s *repair.Scope) (repair.Change, error) {
			_, d, err := inForce(s)
			if err != nil {
				return nil, err
			}
			ch := repair.RecordTestStuds{ShiftOn: quality.ShiftDay(at.In(zone)), Position: "vertical", SetUp: "plate of 3/8 in upright beside the web", Diameter: d.StudDiameter, Welder: welder, Equipment: "unit 2, 150 ft of lead",
				CurrentA: &amps, TimeS: &secs, Lift: &lift, Tested: 2, BendDeg: 30, BendClock: &six, CollarFull: true, Outcome: "accepted", Typed: repair.Typed{"lift_mm": "3/32"}}
			if spoil != nil {
				spoil(&ch)
			}
			return ch, nil
		})
	}
	if e.weld.Month() == 5 && e.weld.Day() == 13 {
		test("damp", 0, func(c *repair.RecordTestStuds) {
			c.CollarFull, c.Outcome, c.Note = false, "not_accepted", "collar open for a third of the way round: ferrules damp"
		})
		test("dry", 40, func(c *repair.RecordTestStuds) { c.AfterChange, c.Note = true, "ferrules from a dry carton" })
		return
	}
	test("first", 0, nil)
}

// barsCut are the cores that met a bar, by end: which, what it cut, and whose leave
// came after it was looked at.
var barsCut = map[string]struct {
	core  int
	note  string
	leave time.Time
}{
	"5F-2": {2, "vent; one bottom transverse bar cut, No. 5", day(4, 28).Add(14*hour + 20*minute)},
	"1N-3": {1, "feed; a top bar nicked, No. 4, half its section", day(5, 21).Add(10*hour + 20*minute)},
}

// cores are the two holes through the deck: one feeds the form, one vents it. Two of
// the bridge cut a bar: not accepted until the engineer let them stand.
func (e end) cores() {
	for n, x := range []float64{9, 21} {
		side := 5.0
		if uniform(e.name, "core side") < 0.5 {
			side = -5
		}
		depth := in(8.5)
		at := e.form.Add(70*minute + time.Duration(n*8)*minute)
		ch := repair.RecordCore{Number: n + 1, Along: in(x), Across: in(side), Diameter: in(4), Depth: &depth,
			BarsLocated: true, OpenClean: true, Outcome: "accepted", Note: []string{"feed", "vent"}[n]}
		if cut, ok := barsCut[e.name]; ok && cut.core == n+1 {
			ch.BarCut, ch.Outcome, ch.Note = true, "not_accepted", cut.note
			after := ch
			after.Outcome, after.Leave = "accepted", Actor(authz.Engineer).Name+", with the nonconformance of this core"
			e.say(e.key("core", fmt.Sprint(n+1), "let stand"), authz.Inspector, cut.leave, e.ref, after)
		}
		e.say(e.key("core", fmt.Sprint(n+1)), authz.Contractor, at, e.ref, ch)
	}
}

// formChecked is the form as it was measured and tried before the pour: the panel of
// the design, or a little more.
func (e end) formChecked() {
	e.tell(e.key("form"), authz.Inspector, e.form.Add(190*minute), e.ref, false, func(s *repair.Scope) (repair.Change, error) {
		_, d, err := inForce(s)
		if err != nil {
			return nil, err
		}
		more := func(l units.Length, what string) *units.Length {
			v := l + in(round(between(0, 0.125, e.name, "form", what), 0.0625))
			return &v
		}
		cover, water, dry := in(round(between(1.06, 1.3, e.name, "cover"), 0.0625)), 20.0, false
		ch := repair.RecordForm{Face: "B", Width: more(d.PanelWidth, "width"), Height: more(d.PanelHeight, "height"), Thickness: more(max(d.PanelLeft, d.PanelRight), "thickness"), Cover: &cover,
			Braced: true, SealsTight: true, WaterTest: &water, Leaked: &dry, BearingFree: true, HolesClear: true, Outcome: "accepted"}
		switch {
		case d.PanelRight <= 0:
			ch.Face = "L"
		case d.PanelLeft <= 0:
			ch.Face = "R"
		}
		return ch, nil
	})
}
