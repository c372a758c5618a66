package web_test

import (
	"bytes"
	"image"
	"image/png"
	"mime/multipart"
	"net/http"
	"net/http/httptest"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
	"endcast/internal/web/webtest"
)

// local is a moment as a box for date and time sends it, in the program's zone.
func local(t time.Time) string { return t.Format("2006-01-02T15:04") }

// upload sends a form with a picture, as a browser does.
func upload(c *webtest.Client, path string, photo []byte, namesAndValues ...string) *webtest.Answer {
	var body bytes.Buffer
	m := multipart.NewWriter(&body)
	for i := 0; i < len(namesAndValues); i += 2 {
		_ = m.WriteField(namesAndValues[i], namesAndValues[i+1])
	}
	part, _ := m.CreateFormFile("photo", "camera.png")
	_, _ = part.Write(photo)
	_ = m.Close()
	r := httptest.NewRequest(http.MethodPost, webtest.Base+path, &body)
	r.Header.Set("Content-Type", m.FormDataContentType())
	return c.Do(r)
}

func samplePNG(t testing.TB, side int) []byte {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, png.Encode(&b, image.NewGray(image.Rect(0, 0, side, side))))
	return b.Bytes()
}

func cleaningForm() []string {
	return []string{"method", "power_tool", "from", local(ago(5 * time.Hour)), "to", local(ago(time.Hour)), "solvent", "on", "steel", "64", "dew_point", "9 C", "humidity", "62",
		"stud_positions", "SP11", "stud_positions_rust", "none", "stud_positions_profile", "0.0015", "encased_area", "SP15", "encased_area_rust", "light", "outside_panel", "", "outside_panel_rust", "none", "note", "night shift"}
}

func TestCleaningIsRecordedByTheInspectorOnly(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	path := p.Path("ends", "1N-1", "cleaning")
	for _, role := range authz.Roles() {
		a := p.Role(role).Get(path).Status(200).Has("1N-1", "Abutment 1, ahead face", "nothing recorded yet", "No cleaning of this end", "SP 11", "lead")
		require.Equal(t, role == authz.Inspector, len(a.Select("form.field-form")) == 1, role)
		if role != authz.Inspector {
			p.Role(role).Post(path, append(cleaningForm(), "entry", newEntryID())...).Status(403)
		}
	}
	p.Anonymous().Post(path, append(cleaningForm(), "entry", newEntryID())...).Status(401)
	p.AsIn(p.NewProgram("other"), authz.Inspector).Post(path, append(cleaningForm(), "entry", newEntryID())...).Status(404)
	require.Empty(t, p.End("1N-1").Cleanings)

	form := append(cleaningForm(), "entry", newEntryID())
	inspector := p.Role(authz.Inspector)
	inspector.Post(path, form...).LeadsTo(path).Follow().Has("may be accepted", "Stud positions", "SP 11", "flash rust light", "profile 0.0015", "solvent first", "night shift",
		"Encased area: light flash rust")
	inspector.Post(path, form...).Status(303) // the same entry twice counts once
	rows := p.End("1N-1").Cleanings
	require.Len(t, rows, 2, "a zone without a grade was not touched")
	require.InDelta(t, 9, float64(*rows[0].DewPoint), 1e-12, "a unit typed counts for what it is")
	require.InDelta(t, 17.7778, float64(*rows[0].SteelTemp), 1e-4, "64 °F")
	require.Equal(t, 0.0015*units.Inch, rows[0].Profile)
	require.True(t, p.End("1N-1").CleaningAssessment(p.Scope("1N-1")).Acceptable)

	// A later cleaning takes the place of the first, which stays in sight.
	worse := []string{"entry", newEntryID(), "method", "hand_tool", "from", local(ago(50 * time.Minute)), "to", local(ago(10 * time.Minute)), "stud_positions", "SP2", "stud_positions_rust", "heavy"}
	inspector.Post(path, worse...).Follow().Has("not what is asked", "Stud positions: SP2 is level 1, at least 4 asked", "heavy flash rust", "superseded by a later cleaning")
}

func TestCleaningComesBackWithWhatWasTyped(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	path := p.Path("ends", "1N-1", "cleaning")
	id := newEntryID()
	a := p.Role(authz.Inspector).Post(path, "entry", id, "method", "", "from", local(ago(time.Hour)), "to", local(ago(3*time.Hour)), "stud_positions", "SP11", "stud_positions_rust", "light",
		"stud_positions_profile", "2 furlongs", "steel", "warm", "note", "half done", "captured_at", "yesterday").Status(422)
	a.Has("half done", "2 furlongs", "warm", "yesterday", "Choose it again")
	require.Equal(t, id, webtest.Attr(a.Select(`form.field-form [name=entry]`)[0], "value"), "corrected and sent again it is the same entry")
	require.NotEmpty(t, a.Select(`[name=stud_positions] option[value=SP11][selected]`))
	require.NotEmpty(t, a.Select(`[name=stud_positions_rust][value=light][checked]`))
	for _, field := range []string{"stud_positions_profile", "steel", "captured_at"} {
		require.NotEmpty(t, a.Select(`.summary a[href="#f-`+field+`"]`), field)
		require.NotEmpty(t, a.Select(`#f-`+field), field)
	}
	// With those put right, the rules of the record have their say.
	a = p.Role(authz.Inspector).Post(path, "entry", id, "method", "", "from", local(ago(time.Hour)), "to", local(ago(3*time.Hour)), "stud_positions", "SP11", "stud_positions_rust", "light").Status(422)
	a.Has("before its start", "No method is called")
	p.Role(authz.Inspector).Post(path, append(cleaningForm(), "method", "power_tool")...).Status(400) // no entry
	p.Role(authz.Inspector).Post(path, "entry", newEntryID(), "method", "grinder", "from", local(ago(time.Hour)), "to", local(ago(0))).Status(422).Has("At least one zone is needed")
	require.Empty(t, p.End("1N-1").Cleanings)
}

func TestPictureComesWithTheRecord(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	path := p.Path("ends", "1N-1", "cleaning")
	inspector := p.Role(authz.Inspector)
	// What is no picture holds the whole form back: nothing is stored.
	form := append(cleaningForm(), "entry", newEntryID())
	upload(inspector, path, []byte("not a picture at all"), form...).Status(422).Has("Must be a JPEG, PNG or WebP picture", "night shift")
	require.Empty(t, p.End("1N-1").Cleanings)
	upload(inspector, path, samplePNG(t, 8), form...).LeadsTo(path).Follow().Has("<img", "Cleaned: stud positions to SP 11")
	upload(inspector, path, samplePNG(t, 8), form...).Status(303)
	r := p.End("1N-1")
	require.Len(t, r.Photos, 1)
	require.Equal(t, "CLN", r.Photos[0].Subject, "it counts at the step that asks for it")
	require.Len(t, r.Cleanings, 2)
	// The same picture with another record is kept once.
	upload(inspector, path, samplePNG(t, 8), append(cleaningForm(), "entry", newEntryID())...).Status(303)
	require.Len(t, p.End("1N-1").Photos, 1)
	require.Len(t, p.End("1N-1").Cleanings, 4)
	v, err := p.Store.Verify(p.ctx)
	require.NoError(t, err)
	require.Empty(t, v.Differences)
}

// A program keeps its own clock, and a demonstration its own day.
func TestClockTimesAreOfTheProgram(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	prog := p.Scope("1N-1").Program
	prog.Timezone = "America/New_York"
	p.DoProgram(authz.Administrator, repair.EditProgram{Program: prog})
	_, err := p.Pool.Exec(p.ctx, "update program set today = '2027-07-17' where id = $1", p.ID)
	require.NoError(t, err)
	path := p.Path("ends", "1N-1", "cleaning")
	inspector := p.Role(authz.Inspector)
	inspector.Get(path).Has("2027-07-1", "America/New_York")
	form := []string{"entry", newEntryID(), "method", "grinder", "from", "2027-07-16T01:30", "to", "2027-07-16T04:00", "stud_positions", "SP11", "stud_positions_rust", "none", "captured_at", "2027-07-16T04:10"}
	inspector.Post(path, form...).LeadsTo(path).Follow().Has("2027-07-16 01:30 to 04:00")
	c := p.End("1N-1").Cleanings[0]
	require.Equal(t, time.Date(2027, 7, 16, 5, 30, 0, 0, time.UTC), c.StartedAt)
	require.Equal(t, time.Date(2027, 7, 16, 8, 10, 0, 0, time.UTC), c.CapturedAt)
	form[1], form[7] = newEntryID(), "2027-07-19T04:00"
	inspector.Post(path, form...).Status(422).Has("future")
}
