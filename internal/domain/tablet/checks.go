package tablet

import (
	"time"

	"endcast/internal/domain/quality"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
)

type testStudBody struct {
	ShiftOn     string `json:"shift_on,omitempty"` // "": the shift in which it was seen
	Position    string `json:"position"`
	SetUp       string `json:"set_up,omitempty"`
	Diameter    string `json:"diameter"`
	Welder      string `json:"welder"`
	Equipment   string `json:"equipment,omitempty"`
	Current     string `json:"current_a,omitempty"`
	Time        string `json:"time_s,omitempty"`
	Lift        string `json:"lift,omitempty"`
	Plunge      string `json:"plunge,omitempty"`
	Tested      int    `json:"tested"`
	BendDeg     string `json:"bend_deg"`
	BendClock   *int   `json:"bend_clock,omitempty"`
	CollarFull  bool   `json:"collar_full,omitempty"`
	Cracked     bool   `json:"cracked,omitempty"`
	AfterChange bool   `json:"after_change,omitempty"`
	Outcome     string `json:"outcome"`
	Note        string `json:"note,omitempty"`
}

func (b testStudBody) change(r *reader, seen time.Time) repair.RecordTestStuds {
	ch := repair.RecordTestStuds{ShiftOn: b.ShiftOn, Position: b.Position, SetUp: b.SetUp, Diameter: r.length("diameter", b.Diameter), Welder: b.Welder, Equipment: b.Equipment,
		CurrentA: r.number("current_a", b.Current, units.Numbers), TimeS: r.number("time_s", b.Time, units.Numbers), Lift: optional[units.Length](r, "lift", b.Lift),
		Plunge: optional[units.Length](r, "plunge", b.Plunge), Tested: b.Tested, BendClock: b.BendClock, CollarFull: b.CollarFull, Cracked: b.Cracked, AfterChange: b.AfterChange,
		Outcome: b.Outcome, Note: b.Note, Typed: typed("stud_diameter_mm", b.Diameter, "lift_mm", b.Lift, "plunge_mm", b.Plunge)}
	if v := r.number("bend_deg", b.BendDeg, units.Angles); v != nil {
		ch.BendDeg = *v
	}
	if ch.ShiftOn == "" {
		ch.ShiftOn = quality.ShiftDay(seen)
	}
	return ch
}

type formBody struct {
	Face        string `json:"face"`
	Width       string `json:"width,omitempty"`
	Height      string `json:"height,omitempty"`
	Thickness   string `json:"thickness,omitempty"`
	Cover       string `json:"cover,omitempty"`
	Braced      bool   `json:"braced,omitempty"`
	SealsTight  bool   `json:"seals_tight,omitempty"`
	WaterTest   string `json:"water_test_min,omitempty"`
	Leaked      *bool  `json:"leaked,omitempty"`
	BearingFree bool   `json:"bearing_free,omitempty"`
	HolesClear  bool   `json:"holes_clear,omitempty"`
	Outcome     string `json:"outcome"`
	Note        string `json:"note,omitempty"`
}

func (b formBody) change(r *reader) repair.RecordForm {
	l := func(field, text string) *units.Length { return optional[units.Length](r, field, text) }
	return repair.RecordForm{Face: b.Face, Width: l("width", b.Width), Height: l("height", b.Height), Thickness: l("thickness", b.Thickness), Cover: l("cover", b.Cover),
		Braced: b.Braced, SealsTight: b.SealsTight, WaterTest: r.number("water_test_min", b.WaterTest, units.Numbers), Leaked: b.Leaked, BearingFree: b.BearingFree, HolesClear: b.HolesClear,
		Outcome: b.Outcome, Note: b.Note, Typed: typed("width_mm", b.Width, "height_mm", b.Height, "thickness_mm", b.Thickness, "cover_mm", b.Cover)}
}

type coreBody struct {
	Number      int    `json:"number"`
	Along       string `json:"along"`
	Across      string `json:"across"`
	Diameter    string `json:"diameter"`
	Depth       string `json:"depth,omitempty"`
	BarsLocated bool   `json:"bars_located,omitempty"`
	BarCut      bool   `json:"bar_cut,omitempty"`
	Leave       string `json:"leave,omitempty"`
	OpenClean   bool   `json:"open_clean,omitempty"`
	Outcome     string `json:"outcome"`
	Note        string `json:"note,omitempty"`
}

func (b coreBody) change(r *reader) repair.RecordCore {
	return repair.RecordCore{Number: b.Number, Along: r.length("along", b.Along), Across: r.length("across", b.Across), Diameter: r.length("diameter", b.Diameter),
		Depth: optional[units.Length](r, "depth", b.Depth), BarsLocated: b.BarsLocated, BarCut: b.BarCut, Leave: b.Leave, OpenClean: b.OpenClean, Outcome: b.Outcome, Note: b.Note,
		Typed: typed("along_mm", b.Along, "across_mm", b.Across, "diameter_mm", b.Diameter, "depth_mm", b.Depth)}
}

// shiftCheck reads a check of the shift that has figures.
func (e Envelope) shiftCheck(r *reader, shift time.Duration) (repair.Change, error) {
	switch e.Kind {
	case TestStud:
		var b testStudBody
		if err := e.read(&b); err != nil {
			return nil, err
		}
		// The day is that of the tablet's own zone, once its clock is set right.
		return b.change(r, e.Captured.Add(shift)), nil
	case FormCheck:
		var b formBody
		if err := e.read(&b); err != nil {
			return nil, err
		}
		return b.change(r), nil
	}
	var b coreBody
	if err := e.read(&b); err != nil {
		return nil, err
	}
	return b.change(r), nil
}
