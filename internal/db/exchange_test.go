package db_test

import (
	"bytes"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"endcast/internal/db"
	"endcast/internal/db/dbtest"
	"endcast/internal/domain/authz"
	"endcast/internal/domain/demo"
	"endcast/internal/domain/exchange"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
)

// another makes a second program, empty, and returns its identifier.
func (b *bundle) another(t testing.TB, code, system string) string {
	t.Helper()
	id := newID()
	_, err := b.Edit(b.ctx, db.Entry{ID: newID(), ProgramID: id, Actor: b.people[authz.Administrator],
		Change: repair.CreateProgram{Program: repair.Program{ID: id, Code: code, Name: "Program " + code, Units: system}}})
	require.NoError(t, err)
	return id
}

func (b *bundle) export(t testing.TB, program string, sys units.System) []exchange.File {
	t.Helper()
	bridge, err := b.Bridge(b.ctx, program)
	require.NoError(t, err)
	files, err := exchange.CSV(bridge, sys)
	require.NoError(t, err)
	return files
}

func (b *bundle) importFiles(program string, files []exchange.File, sys units.System) error {
	who := b.people[authz.Designer]
	p, err := b.PlanImport(b.ctx, program, who, files, sys)
	if err != nil {
		return err
	}
	_, err = b.Edit(b.ctx, p.Entry(newID(), program, who))
	return err
}

// summer is after every survey of the samples.
func summer() time.Time { return time.Date(2027, 6, 1, 0, 0, 0, 0, time.UTC) }

func requireSameFiles(t testing.TB, want, got []exchange.File) {
	t.Helper()
	require.Len(t, got, len(want))
	for i := range want {
		require.Equal(t, want[i].Name, got[i].Name)
		require.Equal(t, string(want[i].Data), string(got[i].Data), want[i].Name)
	}
}

// samples are tables of a bridge made by hand, in the odd forms that people use.
func samples(t testing.TB, set string) []exchange.File {
	t.Helper()
	names, err := filepath.Glob(filepath.Join("..", "..", "testdata", "import", set, "*.csv"))
	require.NoError(t, err)
	require.NotEmpty(t, names)
	var out []exchange.File
	for _, n := range names {
		data, err := os.ReadFile(n)
		require.NoError(t, err)
		out = append(out, exchange.File{Name: filepath.Base(n), Data: data})
	}
	return out
}

// What was exported, taken into an empty program and exported again is the same
// to the byte, in either family of units and either form; and what the record
// computes from it is the same.
func TestSmallProgramComesBackFromItsTables(t *testing.T) {
	t.Parallel()
	b := setup(t)
	ch := someSurvey(0.5)
	ch.Facts.Gauge, ch.Facts.TakenBy, ch.Facts.Typed = "UT 7", "I. Wren", repair.Typed{"web_deviation_mm": "3/16 in"}
	ch.Facts.WebDeviation = 3 * units.Inch / 16
	ch.Readings[0].Typed, ch.Readings[0].T = "19/64", 19*units.Inch/64
	ch.Readings[3] = repair.ReadingIn{Face: "R", X: ch.Readings[3].X, Z: ch.Readings[3].Z, NoAccess: true, Reason: "behind the rocker"}
	ch.Holes = []repair.HoleIn{{X: 5 * units.Inch, Z: 1, Width: 40, Height: 20, Rim: 2, Typed: repair.Typed{"x_mm": "5 in"}}}
	_, err := b.do(authz.Inspector, b.end(t, "1N-1"), ch)
	require.NoError(t, err)
	cleaned := someSurvey(0.6)
	cleaned.Facts.Kind = "cleaned"
	_, err = b.do(authz.Inspector, b.end(t, "1N-1"), cleaned)
	require.NoError(t, err)
	_, err = b.do(authz.Designer, b.end(t, "1F-2"), repair.ChooseSteps{Codes: []string{"GAU"}})
	require.NoError(t, err)

	for _, sys := range []units.System{units.US, units.SI} {
		want := b.export(t, b.program, sys)
		text := b.another(t, "text-"+string(sys), string(sys))
		require.NoError(t, b.importFiles(text, want, sys))
		requireSameFiles(t, want, b.export(t, text, sys))

		bridge, err := b.Bridge(b.ctx, b.program)
		require.NoError(t, err)
		book, err := exchange.XLSX(bridge, sys)
		require.NoError(t, err)
		sheets := b.another(t, "sheets-"+string(sys), "us")
		require.NoError(t, b.importFiles(sheets, []exchange.File{{Name: "b.xlsx", Data: book}}, sys))
		requireSameFiles(t, want, b.export(t, sheets, sys))

		was, now := b.end(t, "1N-1"), b.endOf(t, sheets, "1N-1")
		require.Equal(t, was.State[0].Capacity, now.State[0].Capacity)
		require.Equal(t, was.State[0].InputDigest, now.State[0].InputDigest, "the same inputs to the last bit")
		require.Equal(t, was.Surveys[0].CapturedAt, now.Surveys[0].CapturedAt)
		require.Equal(t, "I. Wren", now.Surveys[0].TakenBy)
		require.Equal(t, []string{"GAU"}, b.endOf(t, sheets, "1F-2").End.ChosenSteps)
	}
	v, err := b.Verify(b.ctx)
	require.NoError(t, err)
	require.Empty(t, v.Differences)
}

func (b *bundle) endOf(t testing.TB, program, name string) *repair.Record {
	t.Helper()
	s, err := b.End(b.ctx, program, name)
	require.NoError(t, err)
	return s.Ends[0]
}

// Tables made by hand keep what was typed, in its own unit and form.
func TestWhatWasTypedInATableIsKept(t *testing.T) {
	t.Parallel()
	b := setup(t)
	b.Now = summer
	id := b.another(t, "hand", "us")
	require.NoError(t, b.importFiles(id, samples(t, "us"), units.US))
	r := b.endOf(t, id, "1F-3")
	require.Equal(t, units.Length(200), r.End.BearingLength)
	require.Equal(t, "200 mm", r.End.Typed["bearing_length_mm"])
	require.Equal(t, "430 kN", r.End.Typed["reaction_n"])
	r = b.endOf(t, id, "1N-1")
	require.Len(t, r.Surveys, 2)
	require.Equal(t, "0.7625 in", r.Surveys[1].Typed["flange_thickness_mm"])
	require.Equal(t, time.Date(2027, 4, 3, 3, 10, 0, 0, time.UTC), r.Surveys[1].CapturedAt)
	var typed []string
	for _, x := range r.Readings {
		typed = append(typed, x.Typed)
	}
	require.ElementsMatch(t, []string{"0.3125 in", "5/16 in", "7.94 mm", "", ".250 in"}, typed)
	require.Equal(t, "2-1/2 in", r.Holes[0].Typed["width_mm"])

	files := b.export(t, id, units.US)
	find := func(name string) string {
		return string(files[slices.IndexFunc(files, func(f exchange.File) bool { return f.Name == name })].Data)
	}
	require.Contains(t, find("Readings.csv"), "1N-1,1,L,4,1,5/16,,")
	require.Contains(t, find("Readings.csv"), "1N-1,1,R,2,1,7.94 mm,,")
	require.Contains(t, find("Readings.csv"), `1N-1,1,R,4,1,,yes,"behind the rocker, pin"`)
	require.Contains(t, find("Holes.csv"), "1N-1,2,5,0,2-1/2,1,0.06")
	require.Contains(t, find("Spans.csv"), `1,58,6,"6'-8""",A1,P1`)
	require.Contains(t, find("Ends.csv"), "-12°30'")

	id = b.another(t, "si", "si")
	require.NoError(t, b.importFiles(id, samples(t, "si"), units.US))
	require.Equal(t, units.Force(430500), b.endOf(t, id, "1N-1").End.Reaction)
	v, err := b.Verify(b.ctx)
	require.NoError(t, err)
	require.Empty(t, v.Differences)
}

func TestSurveysOfEndsOnRecord(t *testing.T) {
	t.Parallel()
	b := setup(t)
	_, err := b.do(authz.Inspector, b.end(t, "1N-1"), someSurvey(0.4))
	require.NoError(t, err)
	was := b.end(t, "1N-1")
	surveys := "end,survey_no,kind,taken_at,taken_by\n1N-1,%,cleaned,2024-06-01 08:00,I. Wren\n1F-2,3,as_found,2024-06-01 09:00,I. Wren\n"
	readings := "end,survey_no,face,x [in],z [in],t [in]\n1N-1,%,L,2,1,0.2\n1F-2,3,L,2,1,0.3\n"
	files := func(number string) []exchange.File {
		return []exchange.File{{Name: "Surveys.csv", Data: []byte(strings.ReplaceAll(surveys, "%", number))},
			{Name: "Readings.csv", Data: []byte(strings.ReplaceAll(readings, "%", number))}}
	}
	require.ErrorContains(t, b.importFiles(b.program, files("1"), units.US), "the program has survey 1 of 1N-1 already")
	require.NoError(t, b.importFiles(b.program, files("2"), units.US))
	now := b.end(t, "1N-1")
	require.Len(t, now.Surveys, 2)
	require.Equal(t, was.End.Version+1, now.End.Version)
	require.Less(t, *now.State[0].Capacity, *was.State[0].Capacity)
	require.Equal(t, 3, b.end(t, "1F-2").Surveys[0].Number, "the number of the report is kept")
	require.ErrorContains(t, b.importFiles(b.program, files("2"), units.US), "the program has survey 2 of 1N-1 already")
	require.ErrorContains(t, b.importFiles(b.program, b.export(t, b.program, units.US), units.US), "the program has support A1 already")
}

// An import that was tried on an older record is refused by the newer one.
func TestImportIsTriedAgainWhenItIsMade(t *testing.T) {
	t.Parallel()
	b := setup(t)
	who := b.people[authz.Designer]
	files := []exchange.File{{Name: "Surveys.csv", Data: []byte("end,survey_no,kind,taken_at,taken_by\n1N-1,1,cleaned,2024-06-01 08:00,I. Wren\n")},
		{Name: "Readings.csv", Data: []byte("end,survey_no,face,x [in],z [in],t [in]\n1N-1,1,L,2,1,0.2\n")}}
	p, err := b.PlanImport(b.ctx, b.program, who, files, units.US)
	require.NoError(t, err)
	require.Empty(t, b.end(t, "1N-1").Surveys, "a plan writes nothing")
	_, err = b.do(authz.Inspector, b.end(t, "1N-1"), someSurvey(0.4))
	require.NoError(t, err)
	_, err = b.Edit(b.ctx, p.Entry(newID(), b.program, who))
	require.ErrorIs(t, err, fault.Fields)
	require.ErrorContains(t, err, "must be more than 1, the last survey on record")
	require.Len(t, b.end(t, "1N-1").Surveys, 1)
}

func TestRefusedImportWritesNothing(t *testing.T) {
	t.Parallel()
	b := setup(t)
	b.Now = summer
	id := b.another(t, "hand", "us")
	files := samples(t, "us")
	for i := range files {
		if files[i].Name == "Readings.csv" {
			files[i].Data = bytes.Replace(files[i].Data, []byte("0.400"), []byte("4.00"), 1)
		}
	}
	var ps *exchange.Problems
	require.ErrorAs(t, b.importFiles(id, files, units.US), &ps)
	require.Equal(t, 1, ps.Total)
	require.Equal(t, "Readings", ps.List[0].Table)
	require.Equal(t, 7, ps.List[0].Row)
	var rows int
	require.NoError(t, b.Pool.QueryRow(b.ctx, "select (select count(*) from support where program_id = $1) + (select count(*) from girder_end where program_id = $1)", id).Scan(&rows))
	require.Zero(t, rows)
}

func TestDemonstrationComesBackFromItsTables(t *testing.T) {
	t.Parallel()
	b := &bundle{Store: db.NewStore(dbtest.New(t)), ctx: t.Context(), people: map[authz.Role]repair.Actor{}}
	require.NoError(t, b.LoadDemo(b.ctx, func(string) (string, error) { return "x", nil }))
	for _, role := range authz.Roles() {
		b.people[role] = demo.Actor(role)
	}
	b.Now = func() time.Time { return demo.Today.AddDate(0, 0, 1) }
	want := b.export(t, demo.ProgramID(), units.US)
	id := b.another(t, "copy", "us")
	require.NoError(t, b.importFiles(id, want, units.US))
	requireSameFiles(t, want, b.export(t, id, units.US))

	was, err := b.Everything(b.ctx, demo.ProgramID())
	require.NoError(t, err)
	now, err := b.Everything(b.ctx, id)
	require.NoError(t, err)
	require.Len(t, now.Ends, 58)
	capacity := map[string]*units.Force{}
	for _, r := range was.Ends {
		capacity[r.End.Name] = r.State[0].Capacity
	}
	for _, r := range now.Ends {
		require.Equal(t, capacity[r.End.Name], r.State[0].Capacity, r.End.Name)
	}
	v, err := b.Verify(b.ctx)
	require.NoError(t, err)
	require.Empty(t, v.Differences)
}

func TestDraftsAreKeptForADayAndForOnePerson(t *testing.T) {
	t.Parallel()
	b := setup(t)
	who, other := b.people[authz.Designer].ID, b.people[authz.Administrator].ID
	now := time.Date(2027, 5, 3, 12, 0, 0, 0, time.UTC)
	b.Now = func() time.Time { return now }
	sum := strings.Repeat("a", 64)
	keep := func(user string) string {
		d := db.ImportDraft{ID: newID(), SHA256: sum, Units: units.SI, Files: []exchange.File{{Name: "Ends.csv", Data: []byte("one")}, {Name: "Holes.csv"}, {Name: "Spans.csv", Data: []byte("three")}}}
		require.NoError(t, b.KeepDraft(b.ctx, b.program, user, d))
		return d.ID
	}
	first := keep(who)
	d, err := b.Draft(b.ctx, b.program, who, first)
	require.NoError(t, err)
	require.Equal(t, units.SI, d.Units)
	require.Equal(t, []exchange.File{{Name: "Ends.csv", Data: []byte("one")}, {Name: "Holes.csv", Data: []byte{}}, {Name: "Spans.csv", Data: []byte("three")}}, d.Files)
	for _, wrong := range [][3]string{{b.program, other, first}, {newID(), who, first}, {b.program, who, newID()}, {b.program, who, "x"}} {
		_, err = b.Draft(b.ctx, wrong[0], wrong[1], wrong[2])
		require.ErrorIs(t, err, fault.NotFound)
	}
	count := func() (n int) {
		require.NoError(t, b.Pool.QueryRow(b.ctx, "select count(*) from import_draft").Scan(&n))
		return n
	}
	for range 6 {
		now = now.Add(time.Minute)
		keep(who)
	}
	require.Equal(t, 5, count(), "a person's oldest go")
	_, err = b.Draft(b.ctx, b.program, who, first)
	require.ErrorIs(t, err, fault.NotFound)
	now = now.Add(25 * time.Hour)
	last := keep(other)
	require.Equal(t, 1, count(), "and all of yesterday's")
	require.NoError(t, b.DropDraft(b.ctx, b.program, who, last))
	require.Equal(t, 1, count(), "nobody drops another's")
	require.NoError(t, b.DropDraft(b.ctx, b.program, other, last))
	require.Zero(t, count())
}
