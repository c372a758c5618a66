package repair

import (
	"fmt"
	"slices"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/units"
)

// RecordForm is the check of a form before the pour.
type RecordForm struct {
	Face        string        `json:"face"`
	Width       *units.Length `json:"width"`
	Height      *units.Length `json:"height"`
	Thickness   *units.Length `json:"thickness"`
	Cover       *units.Length `json:"cover"`
	Braced      bool          `json:"braced"`
	SealsTight  bool          `json:"seals_tight"`
	WaterTest   *float64      `json:"water_test_min"`
	Leaked      *bool         `json:"leaked"`
	BearingFree bool          `json:"bearing_free"`
	HolesClear  bool          `json:"holes_clear"`
	Outcome     string        `json:"outcome"`
	Note        string        `json:"note"`
	Typed       Typed         `json:"typed"`
}

// Kind implements Change.
func (RecordForm) Kind() string { return "form.record" }

// Apply implements Change.
func (ch RecordForm) Apply(s *Scope, c Context) error {
	r, err := s.One()
	if err != nil {
		return err
	}
	var bad fault.Invalid
	notAfter(&bad, "captured_at", c.Captured, c.Now)
	checked(&bad, ch.Outcome, ch.Note)
	if !slices.Contains([]string{"L", "R", "B"}, ch.Face) {
		bad.Add("face", ch.Face, "must be L, R or B for both")
	}
	lengthIn(&bad, "width", ch.Width, 25, 10000)
	lengthIn(&bad, "height", ch.Height, 25, 10000)
	lengthIn(&bad, "thickness", ch.Thickness, 10, 1000)
	lengthIn(&bad, "cover", ch.Cover, 0, 1000)
	numberIn(&bad, "water_test_min", ch.WaterTest, 0, 1440, "minutes")
	if ch.WaterTest != nil && ch.Leaked == nil {
		bad.Add("leaked", "", "say whether it leaked under the water test")
	}
	if ch.Outcome == CheckAccepted {
		ch.accepted(&bad, s.Basis())
	}
	if err := bad.Err(); err != nil {
		return err
	}
	r.FormChecks = append(r.FormChecks, FormCheck{ID: c.NewID(), EndID: r.End.ID, Face: ch.Face, Width: ch.Width, Height: ch.Height, Thickness: ch.Thickness, Cover: ch.Cover,
		Braced: ch.Braced, SealsTight: ch.SealsTight, WaterTest: ch.WaterTest, Leaked: ch.Leaked, BearingFree: ch.BearingFree, HolesClear: ch.HolesClear, Outcome: ch.Outcome, Note: ch.Note,
		Typed: ch.Typed.orNone(), ByUser: c.Actor.ID, ByName: c.Actor.Name, ByRole: string(c.Actor.Role), CapturedAt: c.Captured, ArrivedAt: c.Now})
	return nil
}

// accepted refuses an acceptance that what was found speaks against: a form that
// leaks, gives way, locks the bearing or is closed at its holes is not fit for a pour
// by anybody's word.
func (ch RecordForm) accepted(bad *fault.Invalid, b basis.Basis) {
	for _, x := range []struct {
		ok            bool
		field, reason string
	}{
		{ch.Braced, "braced", "a form that is not braced for the full head is not accepted"},
		{ch.SealsTight, "seals_tight", "a form whose seals are not tight is not accepted"},
		{ch.BearingFree, "bearing_free", "a form that casts the bearing in is not accepted"},
		{ch.HolesClear, "holes_clear", "a form whose feed and vent holes are not clear is not accepted"},
		{ch.Leaked == nil || !*ch.Leaked, "leaked", "a form that leaked under the water test is not accepted"},
		{ch.Width != nil, "width", "measure the width of the form"},
		{ch.Height != nil, "height", "measure the height of the form"},
		{ch.Thickness != nil, "thickness", "measure the form from the web"},
		{ch.Cover != nil, "cover", "measure the least cover to the studs"},
	} {
		if !x.ok {
			bad.Add(x.field, "", "%s", x.reason)
		}
	}
	if least := b.Value(basis.FormWaterTest); least > 0 && (ch.WaterTest == nil || *ch.WaterTest < least) {
		got := "none"
		if ch.WaterTest != nil {
			got = fmt.Sprintf("%g", *ch.WaterTest)
		}
		bad.Add("water_test_min", "", "a water test of at least %g minutes is asked, got %s", least, got)
	}
}

// Short says, in the units of the reader, in what a form that was measured falls
// short of the panel of a design and of the cover that is asked; nothing for a form
// that holds it. A form may be larger than the panel.
func (x FormCheck) Short(d *Design, b basis.Basis, sys units.System) []string {
	var out []string
	off := units.Length(b.Value(basis.FormOff))
	less := func(what string, got *units.Length, want, by units.Length) {
		if got != nil && want > 0 && float64(*got) < float64(want-by)*(1-1e-9) {
			out = append(out, fmt.Sprintf("%s %s, %s is asked", what, got.Format(sys, -1), want.Format(sys, -1)))
		}
	}
	if d != nil {
		less("width", x.Width, d.PanelWidth, off)
		less("height", x.Height, d.PanelHeight, off)
		if x.Face != "R" {
			less("thickness", x.Thickness, d.PanelLeft, off)
		}
		if x.Face == "R" || (x.Face == "B" && d.PanelRight != d.PanelLeft) {
			less("thickness", x.Thickness, d.PanelRight, off)
		}
	}
	less("cover to the studs", x.Cover, units.Length(b.Value(basis.StudHeadCover)), 0)
	return out
}
