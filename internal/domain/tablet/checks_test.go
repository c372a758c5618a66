package tablet_test

import (
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/repair"
	"endcast/internal/domain/tablet"
	"endcast/internal/domain/units"
)

// entry is a good entry of another kind and body.
func entryOf(t *testing.T, kind, body string) tablet.Envelope {
	t.Helper()
	raw := strings.Replace(good, `"kind":"collar"`, `"kind":"`+kind+`"`, 1)
	raw = raw[:strings.Index(raw, `"body":`)] + `"body":` + body + `}`
	e, err := tablet.Decode([]byte(raw))
	require.NoError(t, err)
	return e
}

const (
	studsBody = `{"position":"vertical","diameter":"3/4","welder":"W4","tested":2,"bend_deg":"30","bend_clock":6,"collar_full":true,"lift":"3/32","outcome":"accepted"}`
	formBody  = `{"face":"L","width":"20","height":"16","thickness":"5","cover":"1-1/4","braced":true,"seals_tight":true,"water_test_min":"20","leaked":false,"bearing_free":true,"holes_clear":true,"outcome":"accepted"}`
	coreBody  = `{"number":2,"along":"12","across":"-6","diameter":"100 mm","bars_located":true,"open_clean":true,"outcome":"accepted"}`
)

func TestChecksOfTheShiftAreRead(t *testing.T) {
	t.Parallel()
	ch, err := entryOf(t, "test_stud", studsBody).Change(0)
	require.NoError(t, err)
	studs := ch.(repair.RecordTestStuds)
	require.Equal(t, "2026-04-30", studs.ShiftOn, "21:15 by the tablet's own zone")
	require.Equal(t, "3/32", studs.Typed["lift_mm"])
	require.InDelta(t, 2.38125, float64(*studs.Lift), 1e-9)
	ch, err = entryOf(t, "test_stud", studsBody).Change(-24 * time.Hour)
	require.NoError(t, err)
	require.Equal(t, "2026-04-29", ch.(repair.RecordTestStuds).ShiftOn, "a clock a day ahead is set right first")
	ch, err = entryOf(t, "test_stud", studsBody).Change(6 * time.Hour)
	require.NoError(t, err)
	require.Equal(t, "2026-04-30", ch.(repair.RecordTestStuds).ShiftOn, "what is seen before six belongs to the night before")

	ch, err = entryOf(t, "form_check", formBody).Change(0)
	require.NoError(t, err)
	form := ch.(repair.RecordForm)
	require.Equal(t, 1.25*units.Inch, *form.Cover)
	require.False(t, *form.Leaked)
	ch, err = entryOf(t, "deck_core", coreBody).Change(0)
	require.NoError(t, err)
	require.Equal(t, units.Length(100), ch.(repair.RecordCore).Diameter, "a unit typed counts for what it is")
	require.Equal(t, -6*units.Inch, ch.(repair.RecordCore).Across)

	for kind, bad := range map[string]string{"test_stud": strings.Replace(studsBody, `"3/4"`, `"x"`, 1), "form_check": strings.Replace(formBody, `"20"`, `"wide"`, 1),
		"deck_core": strings.Replace(coreBody, `"number":2`, `"numbre":2`, 1)} {
		_, err := entryOf(t, kind, bad).Change(0)
		require.Error(t, err, kind)
	}
}

func TestEndsOfAPour(t *testing.T) {
	t.Parallel()
	one := `{"started":"2026-04-30T20:00:00-04:00","batches":[{"mixed":"2026-04-30T20:10:00-04:00","flow_1":"9","flow_2":"9"}]}`
	require.Equal(t, []string{"x"}, entryOf(t, "pour", one).EndIDs())
	two := strings.Replace(one, `"batches"`, `"ends":[{"id":"x","name":"1N-1","volume_l":"60"},{"id":"y","name":"1N-2"},{"id":"y","name":"1N-2"}],"batches"`, 1)
	e := entryOf(t, "pour", two)
	require.Equal(t, []string{"x", "y"}, e.EndIDs())
	ch, err := e.Change(0)
	require.NoError(t, err)
	require.Equal(t, map[string]float64{"x": 60}, ch.(repair.RecordPour).VolumeL)
	_, err = entryOf(t, "pour", strings.Replace(two, `"id":"x"`, `"id":"z"`, 1)).Change(0)
	require.ErrorContains(t, err, "not among its ends")
	require.Equal(t, []string{"x"}, entryOf(t, "collar", `{"mark":"L-1-1","outcome":"full"}`).EndIDs())
}

func TestCompareReadings(t *testing.T) {
	t.Parallel()
	gone := "later"
	mine := []repair.ReadingIn{{Face: "T", X: 50, Z: 25, T: 10}, {Face: "T", X: 100, Z: 25, T: 9}, {Face: "L", X: 50, Z: 25, T: 8}, {Face: "T", X: 150, Z: 25, NoAccess: true}, {Face: "T", X: 200, Z: 25, T: 7}}
	that := []repair.Reading{{Face: "T", X: 51.5, Z: 25, T: 11}, {Face: "T", X: 100, Z: 25, T: 6}, {Face: "R", X: 50, Z: 25, T: 2}, {Face: "T", X: 150, Z: 25, T: 5}, {Face: "T", X: 200, Z: 25, T: 7},
		{Face: "T", X: 100, Z: 25, T: 1, SupersededBy: &gone}, {Face: "T", X: 53, Z: 25, T: 1}}
	got := tablet.Compare(mine, that)
	require.Len(t, got, 2, "of one face, at one place, both read, and not alike")
	require.Equal(t, units.Length(3), got[0].Differs(), "the greatest difference first")
	require.Equal(t, units.Length(-1), got[1].Differs())
	require.Equal(t, units.Length(1), got[1].Off())
	require.Empty(t, tablet.Compare(nil, that))
}
