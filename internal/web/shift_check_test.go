package web_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/tablet"
	"endcast/internal/domain/units"
)

// today is the day of the shift that runs now, in the program's zone.
func today() string { return time.Now().Add(-6 * time.Hour).Format(time.DateOnly) }

func testStudForm() []string {
	return []string{"shift_on", today(), "position", "vertical", "set_up", "plate beside the web", "diameter", "3/4", "welder", "W4", "equipment", "unit 2", "current_a", "1500", "time_s", "0.8",
		"lift", "3/32", "tested", "2", "bend_deg", "30", "bend_clock", "6", "collar_full", "on", "outcome", "accepted"}
}

func formForm() []string {
	return []string{"face", "L", "width", "24", "height", "16", "thickness", "4", "cover", "1-1/4", "braced", "on", "seals_tight", "on", "bearing_free", "on", "holes_clear", "on",
		"water_test_min", "20", "leaked", "no", "outcome", "accepted"}
}

func coreForm() []string {
	return []string{"number", "1", "along", "12", "across", "-6", "diameter", "4", "depth", "8", "bars_located", "on", "open_clean", "on", "outcome", "accepted"}
}

func TestChecksOfTheShiftAtTheDesk(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	p.approvedLayout("1N-1")
	inspector := p.Role(authz.Inspector)
	may := map[authz.Role]bool{authz.Inspector: true, authz.Contractor: true, authz.Engineer: true}
	for key, form := range map[string][]string{"test-studs": testStudForm(), "form": formForm(), "cores": coreForm()} {
		path := p.Path("ends", "1N-1", "checks", key)
		for _, role := range authz.Roles() {
			a := p.Role(role).Get(path).Status(200).Has("1N-1", "Nothing is on record yet", "Asked")
			require.Equal(t, may[role], len(a.Select("form.field-form")) == 1, role)
			if !may[role] {
				p.Role(role).Post(path, append(form, "entry", newEntryID())...).Status(403)
			}
		}
		inspector.Post(path, "entry", newEntryID(), "outcome", "").Status(422)
		form = append(form, "entry", newEntryID())
		inspector.Post(path, form...).LeadsTo(path).Follow().Has("recorded", "accepted", ", inspector,")
		inspector.Post(path, form...).Status(303) // twice counts once
	}
	inspector.Get(p.Path("ends", "1N-1", "checks", "weather")).Status(404)
	r := p.End("1N-1")
	require.Len(t, r.TestStuds, 1)
	require.Equal(t, "3/32", r.TestStuds[0].Typed["lift_mm"])
	require.Equal(t, 0.75*units.Inch, r.TestStuds[0].Diameter)
	require.Len(t, r.FormChecks, 1)
	require.Equal(t, 1.25*units.Inch, *r.FormChecks[0].Cover)
	require.Len(t, r.DeckCores, 1)
	require.Equal(t, -6*units.Inch, r.DeckCores[0].Across)
	inspector.Get(p.Path("ends", "1N-1", "field")).Has("Test studs of the shift", "Cores through the deck", "Form", "1 accepted")
	inspector.Get(p.Path("ends", "1N-1")).Has("Checks of the shift", "left of the web", "water test of 20 min: no leak", "W4", "1500 A", "Left face: thickness 4.000")
	inspector.Get(p.Path("history")).Has("Test studs recorded", "Form checked", "Core through the deck recorded")

	// An acceptance that what was found speaks against comes back with its box.
	bad := append(formForm(), "entry", newEntryID())
	bad[len(bad)-3] = "accepted"
	for i := 0; i < len(bad); i += 2 {
		if bad[i] == "leaked" {
			bad[i+1] = "yes"
		}
	}
	inspector.Post(p.Path("ends", "1N-1", "checks", "form"), bad...).Status(422).Has("leaked under the water test is not accepted", `value="1-1/4"`)
	cut := append(coreForm(), "bar_cut", "on", "entry", newEntryID())
	inspector.Post(p.Path("ends", "1N-1", "checks", "cores"), cut...).Status(422).Has("say who gave leave")
	p.verified()
}

// A step may ask for the checks: what is on record of them decides, and not a tick.
func TestChecksOfTheShiftFromATablet(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	p.approvedLayout("1N-1")
	inspector, path := p.Role(authz.Inspector), p.Path("tablet", "entries")
	studs := map[string]any{"position": "vertical", "diameter": "3/4", "welder": "W4", "tested": 2, "bend_deg": "30", "bend_clock": 6, "collar_full": true, "outcome": "accepted"}
	form := map[string]any{"face": "B", "width": "24", "height": "16", "thickness": "5", "cover": "1", "braced": true, "seals_tight": true, "water_test_min": "20", "leaked": false,
		"bearing_free": true, "holes_clear": true, "outcome": "accepted"}
	core := map[string]any{"number": 1, "along": "12", "across": "-6", "diameter": "4", "bars_located": true, "open_clean": true, "outcome": "accepted"}
	blind := map[string]any{"number": 2, "along": "12", "across": "-6", "diameter": "4", "open_clean": true, "outcome": "accepted"}
	got := p.send(inspector, path, time.Now(), p.slip(inspector, "1N-1", tablet.TestStud, studs), p.slip(inspector, "1N-1", tablet.FormCheck, form), p.slip(inspector, "1N-1", tablet.DeckCore, core),
		p.slip(inspector, "1N-1", tablet.DeckCore, blind))
	for i, want := range []string{"stored", "stored", "stored", "refused"} {
		require.Equal(t, want, got[i].State, "%d %+v", i, got[i])
	}
	require.Equal(t, "bars_located", got[3].Fields[0].Field)
	r := p.End("1N-1")
	require.True(t, r.TestStudsAccepted() && r.FormAccepted() && r.CoresAccepted())
	require.Equal(t, time.Now().Add(-6*time.Hour-5*time.Minute).Format(time.DateOnly), r.TestStuds[0].ShiftOn, "the shift follows from when it was seen")

	// A tablet that is a day ahead: the shift is that of the clock set right.
	ahead := p.slip(inspector, "1N-1", tablet.TestStud, studs, func(e *tablet.Envelope) {
		e.CapturedAt = time.Now().Add(24*time.Hour - time.Minute).Format(time.RFC3339)
	})
	require.Equal(t, "stored", p.send(inspector, path, time.Now().Add(24*time.Hour), ahead)[0].State)
	require.Equal(t, time.Now().Add(-6*time.Hour-time.Minute).Format(time.DateOnly), p.End("1N-1").TestStuds[1].ShiftOn)

	// What was recorded in words before, or waits on a tablet of the last version, is taken and shown.
	old := p.slip(inspector, "1N-1", tablet.Inspection, map[string]any{"subject": "form", "outcome": "accepted", "facts": []string{"fit and cover seen"}})
	require.Equal(t, "stored", p.send(inspector, path, time.Now(), old)[0].State)
	inspector.Get(p.Path("ends", "1N-1", "checks", "form")).Has("Recorded in words", "fit and cover seen")

	// Made on a revision that is no longer in force.
	late := p.slip(inspector, "1N-1", tablet.FormCheck, form)
	stud := p.slip(inspector, "1N-1", tablet.TestStud, studs)
	p.approvedLayout("1N-1")
	got = p.send(inspector, path, time.Now(), late, stud)
	require.Equal(t, "aside", got[0].State)
	require.Contains(t, got[0].Reason, "revision 2 is in force now")
	require.Equal(t, "stored", got[1].State, "studs of the same diameter: the test holds")
	p.Role(authz.Engineer).Get(p.Path("aside")).Has("1N-1: form", "The panel of revision 2 is", "That of revision 1 was 8.000\u00a0in wide")
	p.Role(authz.Engineer).Post(p.Path("aside"), "entry", newEntryID(), "id", got[0].ID, "how", "apply").Status(303)
	require.Len(t, p.End("1N-1").FormChecks, 2)

	laboratory := p.Role(authz.Laboratory)
	require.Equal(t, "refused", p.send(laboratory, path, time.Now(), p.slip(laboratory, "1N-1", tablet.DeckCore, core))[0].State)
	p.verified()
}

func TestCheckPages(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	p.approvedLayout("1N-1")
	leak := true
	p.Do(authz.Inspector, "1N-1", repair.RecordForm{Face: "L", Leaked: &leak, Outcome: "not_accepted", Note: "weeps at the flange"})
	p.Do(authz.Contractor, "1N-1", repair.RecordCore{Number: 1, Along: 300, Across: 150, Diameter: 100, BarsLocated: true, OpenClean: true, Outcome: "accepted"})
	p.Do(authz.Inspector, "1N-1", repair.RecordTestStuds{ShiftOn: today(), Position: "vertical", Diameter: 0.75 * units.Inch, Welder: "W4", Tested: 2, BendDeg: 30, CollarFull: true, Outcome: "accepted"})
	page := p.Browser(authz.Inspector)
	for _, key := range []string{"test-studs", "cores", "form"} {
		p.lookField(page, p.Path("ends", "1N-1", "checks", key), "check-"+key)
	}
}
