package repair

import (
	"cmp"
	"slices"
	"time"

	"endcast/internal/domain/units"
)

// TestStud is the set-up test of a stud welder: studs welded and bent on like metal
// in like position before production, at the start of a shift and after any change.
type TestStud struct {
	ID          string        `db:"id" json:"id"`
	EndID       string        `db:"end_id" json:"end_id"`
	ShiftOn     string        `db:"shift_on" json:"shift_on"` // day on which the shift began, 2006-01-02
	Position    string        `db:"position" json:"position"` // vertical, flat or overhead
	SetUp       string        `db:"set_up" json:"set_up"`     // what the studs were welded on
	Diameter    units.Length  `db:"stud_diameter_mm" json:"stud_diameter_mm"`
	Welder      string        `db:"welder" json:"welder"`
	Equipment   string        `db:"equipment" json:"equipment"`
	CurrentA    *float64      `db:"current_a" json:"current_a"`
	TimeS       *float64      `db:"time_s" json:"time_s"`
	Lift        *units.Length `db:"lift_mm" json:"lift_mm"`
	Plunge      *units.Length `db:"plunge_mm" json:"plunge_mm"`
	Tested      int           `db:"tested" json:"tested"`
	BendDeg     float64       `db:"bend_deg" json:"bend_deg"`
	BendClock   *int          `db:"bend_clock" json:"bend_clock"` // hour toward which they were bent
	CollarFull  bool          `db:"collar_full" json:"collar_full"`
	Cracked     bool          `db:"cracked" json:"cracked"`
	AfterChange bool          `db:"after_change" json:"after_change"` // repeated since the setting was changed
	Outcome     string        `db:"outcome" json:"outcome"`
	Note        string        `db:"note" json:"note"`
	Typed       Typed         `db:"typed" json:"typed"`
	ByUser      string        `db:"by_user" json:"by_user"`
	ByName      string        `db:"by_name" json:"by_name"`
	ByRole      string        `db:"by_role" json:"by_role"`
	CapturedAt  time.Time     `db:"captured_at" json:"captured_at"`
	ArrivedAt   time.Time     `db:"arrived_at" json:"arrived_at"`
}

// FormCheck is what was measured and tried at the form of one face, or of both in
// one, before the pour.
type FormCheck struct {
	ID          string        `db:"id" json:"id"`
	EndID       string        `db:"end_id" json:"end_id"`
	Face        string        `db:"face" json:"face"` // L, R or B for both
	Width       *units.Length `db:"width_mm" json:"width_mm"`
	Height      *units.Length `db:"height_mm" json:"height_mm"`
	Thickness   *units.Length `db:"thickness_mm" json:"thickness_mm"` // from the web to the form
	Cover       *units.Length `db:"cover_mm" json:"cover_mm"`         // the least, from a stud's head to the form
	Braced      bool          `db:"braced" json:"braced"`             // for the full head of UHPC
	SealsTight  bool          `db:"seals_tight" json:"seals_tight"`
	WaterTest   *float64      `db:"water_test_min" json:"water_test_min"`
	Leaked      *bool         `db:"leaked" json:"leaked"` // nil: no water test
	BearingFree bool          `db:"bearing_free" json:"bearing_free"`
	HolesClear  bool          `db:"holes_clear" json:"holes_clear"` // feed and vents
	Outcome     string        `db:"outcome" json:"outcome"`
	Note        string        `db:"note" json:"note"`
	Typed       Typed         `db:"typed" json:"typed"`
	ByUser      string        `db:"by_user" json:"by_user"`
	ByName      string        `db:"by_name" json:"by_name"`
	ByRole      string        `db:"by_role" json:"by_role"`
	CapturedAt  time.Time     `db:"captured_at" json:"captured_at"`
	ArrivedAt   time.Time     `db:"arrived_at" json:"arrived_at"`
}

// DeckCore is one core drilled through the deck to feed or vent the form below.
type DeckCore struct {
	ID          string        `db:"id" json:"id"`
	EndID       string        `db:"end_id" json:"end_id"`
	Number      int           `db:"number" json:"number"`
	Along       units.Length  `db:"along_mm" json:"along_mm"`   // from the girder end
	Across      units.Length  `db:"across_mm" json:"across_mm"` // from the web, right looking ahead is positive
	Diameter    units.Length  `db:"diameter_mm" json:"diameter_mm"`
	Depth       *units.Length `db:"depth_mm" json:"depth_mm"`
	BarsLocated bool          `db:"bars_located" json:"bars_located"` // before drilling
	BarCut      bool          `db:"bar_cut" json:"bar_cut"`
	Leave       string        `db:"leave" json:"leave"` // who allowed the cut, and when
	OpenClean   bool          `db:"open_clean" json:"open_clean"`
	Outcome     string        `db:"outcome" json:"outcome"`
	Note        string        `db:"note" json:"note"`
	Typed       Typed         `db:"typed" json:"typed"`
	ByUser      string        `db:"by_user" json:"by_user"`
	ByName      string        `db:"by_name" json:"by_name"`
	ByRole      string        `db:"by_role" json:"by_role"`
	CapturedAt  time.Time     `db:"captured_at" json:"captured_at"`
	ArrivedAt   time.Time     `db:"arrived_at" json:"arrived_at"`
}

// Outcomes of a check of the shift.
const (
	CheckAccepted    = "accepted"
	CheckNotAccepted = "not_accepted"
)

// later reports whether what was seen at a, arrived at aIn, counts before b.
func later(a, aIn, b, bIn time.Time) bool {
	if c := a.Compare(b); c != 0 {
		return c > 0
	}
	return !aIn.Before(bIn)
}

// LatestTestStud is the last set-up test at this end, nil for none.
func (r *Record) LatestTestStud() *TestStud {
	var out *TestStud
	for i := range r.TestStuds {
		if x := &r.TestStuds[i]; out == nil || later(x.CapturedAt, x.ArrivedAt, out.CapturedAt, out.ArrivedAt) {
			out = x
		}
	}
	return out
}

// TestStudsOf lists the set-up tests of one shift at this end, in their order. A
// test holds for its welder, position, diameter and setting.
func (r *Record) TestStudsOf(shift string) []TestStud {
	var out []TestStud
	for _, x := range r.TestStuds {
		if x.ShiftOn == shift {
			out = append(out, x)
		}
	}
	return out
}

// LatestForms are the checks that count at the form: of each face the last one. A
// check of both faces in one takes the place of those before it, and one of a single
// face takes that face's place only.
func (r *Record) LatestForms() []FormCheck {
	last := map[string]FormCheck{}
	for _, x := range r.FormChecks {
		faces := []string{x.Face}
		if x.Face == "B" {
			faces = []string{"L", "R"}
		}
		for _, f := range faces {
			if was, ok := last[f]; !ok || later(x.CapturedAt, x.ArrivedAt, was.CapturedAt, was.ArrivedAt) {
				last[f] = x
			}
		}
	}
	var out []FormCheck
	for _, f := range []string{"L", "R"} {
		if x, ok := last[f]; ok && (len(out) == 0 || out[0].ID != x.ID) {
			out = append(out, x)
		}
	}
	return out
}

// LatestCores are the cores of the deck at this end as last recorded, by number.
func (r *Record) LatestCores() []DeckCore {
	at := map[int]int{}
	var out []DeckCore
	for _, x := range r.DeckCores {
		i, ok := at[x.Number]
		switch {
		case !ok:
			at[x.Number] = len(out)
			out = append(out, x)
		case later(x.CapturedAt, x.ArrivedAt, out[i].CapturedAt, out[i].ArrivedAt):
			out[i] = x
		}
	}
	slices.SortFunc(out, func(a, b DeckCore) int { return cmp.Compare(a.Number, b.Number) })
	return out
}

// TestStudsAccepted reports whether the last set-up test of every welder at this end
// was accepted, and there is one.
func (r *Record) TestStudsAccepted() bool {
	last := map[string]TestStud{}
	for _, x := range r.TestStuds {
		if was, ok := last[x.Welder]; !ok || later(x.CapturedAt, x.ArrivedAt, was.CapturedAt, was.ArrivedAt) {
			last[x.Welder] = x
		}
	}
	for _, x := range last {
		if x.Outcome != CheckAccepted {
			return false
		}
	}
	return len(last) > 0
}

// FormAccepted reports whether the form of every face that the design in force
// casts against was accepted.
func (r *Record) FormAccepted() bool {
	want := map[string]bool{}
	if d := r.DesignInForce(); d != nil {
		want["L"], want["R"] = d.PanelLeft > 0, d.PanelRight > 0
	}
	forms := r.LatestForms()
	for _, x := range forms {
		if x.Outcome != CheckAccepted {
			return false
		}
		delete(want, x.Face)
		if x.Face == "B" {
			clear(want)
		}
	}
	return len(forms) > 0 && !want["L"] && !want["R"]
}

// CoresAccepted reports whether every core at this end was accepted, and there is one.
func (r *Record) CoresAccepted() bool {
	cores := r.LatestCores()
	for _, x := range cores {
		if x.Outcome != CheckAccepted {
			return false
		}
	}
	return len(cores) > 0
}
