package web_test

import (
	"fmt"
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/authz"
	"endcast/internal/web/webtest"
)

// typedBreak is a sound break of a specimen, half an hour ago.
func typedBreak(mark string) map[string]string {
	return map[string]string{"entry": newEntryID(), "mark": mark, "broken_at": box(ago(30 * time.Minute)), "load": "110.4", "width_1": "3.00", "width_2": "3.01",
		"height": "5.97", "ends_ground": "on", "fracture": "3", "machine": "400", "tested_by": "M. Vale"}
}

func TestLaboratoryForEveryRole(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	p.cast(97, "1N-1")
	p.cast(130, "1F-1")
	for _, role := range authz.Roles() {
		a := p.Role(role).Get(p.Path("laboratory")).Status(200)
		a.Has("P001-01", "P002-02", "Late", "Due now")
		may := role == authz.Laboratory
		require.Equal(t, may, len(a.Select("form.break-row")) == 6, role)
		require.Equal(t, may, len(a.Select("#f-table")) == 1, role)
		if !may {
			p.Role(role).Post(p.Path("laboratory", "breaks"), pairs(typedBreak("P001-01"))...).Status(403)
			p.Role(role).Post(p.Path("laboratory", "table"), "table", "x").Status(403)
			p.Role(role).Post(p.Path("laboratory", "table", "record"), "table", "x", "entry", newEntryID()).Status(403)
		}
	}
	require.Nil(t, p.Scope("1N-1").Specimens[0].BrokenAt)
	p.AsIn(p.NewProgram("other"), authz.Laboratory).Post(p.Path("laboratory", "breaks"), pairs(typedBreak("P001-01"))...).Status(404)
}

func TestBreakThatCannotBeKeepsItsRow(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	p.cast(97, "1N-1")
	lab := p.Role(authz.Laboratory)
	for name, x := range map[string]struct{ field, value, why string }{
		"before casting":           {"broken_at", box(ago(200 * time.Hour)), "must be after casting"},
		"in the future":            {"broken_at", box(time.Now().Add(30 * time.Hour)), "future"},
		"no time":                  {"broken_at", "", "date and time of the break are needed"},
		"a load above the machine": {"load", "420", "above the machine&#39;s capacity of 400"},
		"no load":                  {"load", "", "greatest load is needed"},
		"a load in inches":         {"load", "7 in", "is a length"},
		"a strength of steel":      {"load", "399999 N", ""},
		"another size":             {"width_1", "4.00", "within 5 %"},
		"too short":                {"height", "2", "height of a 3 x 6 in cylinder"},
		"no such fracture":         {"fracture", "9", "from 1 to 6"},
	} {
		if x.why == "" {
			continue
		}
		f := typedBreak("P001-02")
		f[x.field] = x.value
		a := lab.Post(p.Path("laboratory", "breaks"), pairs(f)...).Status(422).Has(x.why, f["entry"])
		anchor := "f-" + x.field + "-P001-02"
		require.NotEmpty(t, a.Select(`#errors a[href="#`+anchor+`"]`), name)
		require.Len(t, a.Select("#"+anchor), 1, name)
		require.Equal(t, "3.01", webtest.Attr(a.Select("#f-width_2-P001-02")[0], "value"), name)
		require.NotEmpty(t, a.Select("#break-P001-02 .why"), name)
		require.Empty(t, a.Select("#break-P001-01 .why"), name)
	}
	lab.Post(p.Path("laboratory", "breaks"), pairs(typedBreak("P009-77"))...).Status(404)
	for _, sp := range p.Scope("1N-1").Specimens {
		require.Nil(t, sp.BrokenAt)
	}
}

func TestBrokenTwiceShowsBoth(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	p.cast(97, "1N-1")
	lab := p.Role(authz.Laboratory)
	f := typedBreak("p001-01")
	lab.Post(p.Path("laboratory", "breaks"), pairs(f)...).Status(303)
	lab.Post(p.Path("laboratory", "breaks"), pairs(f)...).Status(303) // the same entry once more
	again := typedBreak("P001-01")
	again["load"] = "98.7"
	lab.Post(p.Path("laboratory", "breaks"), pairs(again)...).Status(http.StatusConflict).Has("98.7", "110.4", "a specimen breaks once", "M. Vale")
	require.Equal(t, "110.4", p.Scope("1N-1").Specimens[0].Typed["load_n"])
}

func TestHeldBreaksStayAndSayWhy(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	p.cast(97, "1N-1")
	lab := p.Role(authz.Laboratory)
	f := typedBreak("P001-01")
	f["broken_at"] = box(ago(20 * time.Hour))
	lab.Post(p.Path("laboratory", "breaks"), pairs(f)...).Follow().Has("held and does not count", "at the earliest")
	f = typedBreak("P001-02")
	delete(f, "ends_ground")
	lab.Post(p.Path("laboratory", "breaks"), pairs(f)...).Follow().Has("ends not ground")
	a := p.Role(authz.Manager).Get(p.Path("pours", "1")).Has("held", "ends not ground", "does not count")
	require.NotEmpty(t, a.Select("svg .point.held"))
}

// table is breaks of three specimens as a spreadsheet copies them.
func breakTable(rows ...string) string {
	return strings.Join(append([]string{"Mark\tDate and time\tLoad (kN)\tDiameter\tDiameter 2\tHeight\tEnds ground\tFracture type\tTested by\tStrength"}, rows...), "\r\n") + "\r\n"
}

func tableRow(mark string, at time.Time, load string) string {
	return fmt.Sprintf("%s\t%s\t%s\t3.00\t3.01\t5.97\tyes\t3\tM. Vale\t108", mark, at.UTC().Format("2006-01-02 15:04"), load)
}

func TestTableOfBreaksIsTakenWholeOrNot(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	p.cast(97, "1N-1")
	p.cast(98, "1F-1", "1F-2")
	lab := p.Role(authz.Laboratory)
	at := ago(30 * time.Minute)

	bad := breakTable(tableRow("P001-01", at, "491"), tableRow("P0O1-02", at, "492"), tableRow("P001-03", at, "much"), tableRow("P002-01", ago(900*time.Hour), "480"),
		tableRow("P001-01", at, "490"), strings.Replace(tableRow("P002-02", at, "488"), "yes", "perhaps", 1), "P002-03\t5/7/2027 8:30\t487\t3.00")
	a := lab.Post(p.Path("laboratory", "table"), "table", bad).Status(422)
	a.Has("6 of 7 rows cannot be taken", "no specimen has this mark", "P001-02", "Line 4, P001-03, load", "must be after casting", "in row 1 of the table already", "must be yes or no", "5/7/2027 8:30", "Columns that mean nothing here: Strength")
	require.Contains(t, a.One("#f-table"), "P0O1-02")
	a.None(`form[action="` + p.Path("laboratory", "table", "record") + `"]`)
	lab.Post(p.Path("laboratory", "table", "record"), "table", bad, "entry", newEntryID()).Status(422)
	require.Nil(t, p.Scope("1N-1").Specimens[0].BrokenAt)

	good := breakTable(tableRow("P001-01", at, "491"), tableRow("p001-02", at, "110.4 kip"), tableRow("P001-03", at, "495"), tableRow("P002-01", ago(20*time.Hour), "480"))
	a = lab.Post(p.Path("laboratory", "table"), "table", good).Status(200).Has("All 4 rows can be taken", "early", "held", "counts", "15.57")
	require.Nil(t, p.Scope("1N-1").Specimens[0].BrokenAt, "reading stores nothing")
	entry := webtest.Attr(a.Select(`form[action="` + p.Path("laboratory", "table", "record") + `"] input[name=entry]`)[0], "value")
	sent := webtest.Attr(a.Select(`form[action="` + p.Path("laboratory", "table", "record") + `"] input[name=table]`)[0], "value")
	for range 2 {
		lab.Post(p.Path("laboratory", "table", "record"), "table", sent, "entry", entry).LeadsTo(p.Path("laboratory"))
	}
	lab.Post(p.Path("laboratory", "table", "record"), "table", sent, "entry", newEntryID()).Status(422).Has("a specimen breaks once")
	s := p.Scope("1N-1")
	facts, err := s.Ends[0].Facts(s)
	require.NoError(t, err)
	require.Len(t, facts.Strengths, 1)
	lines, err := p.Store.History(p.ctx, p.ID, s.Ends[0].End.ID, 0, 10)
	require.NoError(t, err)
	require.Equal(t, "specimen.breaks", lines[0].Kind)
	require.Equal(t, "pour.record", lines[1].Kind, "the table is one entry")
	v, err := p.Store.Verify(p.ctx)
	require.NoError(t, err)
	require.Empty(t, v.Differences)

	for _, x := range []struct{ table, why string }{{"", "row of breaks is in the table"}, {"mark\tload\tload\n", "two columns are headed load"},
		{"mark\tload\n", "no column is headed diameter"}, {strings.Repeat("a\tb\n", 400), "more than 300"}} {
		lab.Post(p.Path("laboratory", "table"), "table", x.table).Status(422).Has(x.why)
	}
	lab.Post(p.Path("laboratory", "table"), "table", "\xff\xfe").Status(400) // no text at all: refused at the door
}
