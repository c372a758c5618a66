package web_test

import (
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
	"endcast/internal/web/webtest"
)

func TestStudMapForEveryRole(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	path := p.Path("ends", "1N-1", "collars")
	p.Role(authz.Inspector).Get(path).Has("no design with studs yet")
	p.Role(authz.Inspector).Get(path + "/L-1-1").Status(404)
	studs := p.approvedLayout("1N-1")
	mark := studs[0].Mark
	for _, role := range authz.Roles() {
		a := p.Role(role).Get(path).Status(200).Has("Left face of the web", "Right face of the web", "Revision 1, approved", "no stud inspected yet")
		require.Len(t, a.Select("a.stud-cell.unseen"), len(studs), role)
		require.Equal(t, role == authz.Inspector, len(a.Select("a.rest")) > 0, role)
		one := p.Role(role).Get(path+"/"+mark).Status(200).Has(mark, "Nobody has looked at this stud yet")
		require.Equal(t, role == authz.Inspector, len(one.Select("form#collar")) == 1, role)
		if role != authz.Inspector {
			p.Role(role).Post(path+"/"+mark, "entry", newEntryID(), "design", studs[0].DesignID, "outcome", "full").Status(403)
			p.Role(role).Post(p.Path("ends", "1N-1", "collar-rest"), "entry", newEntryID(), "design", studs[0].DesignID, "face", "L", "mark", mark).Status(403)
			p.Role(role).Get(p.Path("ends", "1N-1", "collar-rest") + "?face=L").Status(403)
		}
	}
	require.Empty(t, p.End("1N-1").Collars)
	p.Role(authz.Inspector).Get(path + "/Z-9").Status(404)
}

// The near end seen from the right has the girder end on the left hand; the far end,
// and the other face, the other way about.
func TestMapShowsAFaceAsItIsSeen(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	p.approvedLayout("1N-1")
	p.approvedLayout("1F-1")
	for end, sides := range map[string][2]string{"1N-1": {"right", "left"}, "1F-1": {"left", "right"}} {
		a := p.Role(authz.Manager).Get(p.Path("ends", end, "collars"))
		for i, face := range []string{"L", "R"} {
			text := a.One(`section[aria-labelledby=face-` + face + `] > p.small`)
			require.Contains(t, text, "The girder end is on the "+sides[i], "%s %s", end, face)
			cols := a.Select(`section[aria-labelledby=face-` + face + `] thead th[scope=col]`)
			first, last := webtest.Text(cols[0]), webtest.Text(cols[len(cols)-1])
			require.Equal(t, sides[i] == "left", first < last, "x grows away from the girder end: %s to %s", first, last)
			rows := a.Select(`section[aria-labelledby=face-` + face + `] tbody th .small`)
			require.Greater(t, webtest.Text(rows[0]), "", "the top row comes first")
		}
	}
}

func TestCollarIsRecordedSupersededAndKept(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	studs := p.approvedLayout("1N-1")
	design, st := studs[0].DesignID, studs[0]
	path := p.Path("ends", "1N-1", "collars", st.Mark)
	inspector := p.Role(authz.Inspector)

	// Without scripts the rules are asked for with the form itself; nothing is lost.
	a := inspector.Get(path+"?outcome=gap&gap_clock=4&gap_length=3/8&note=porous").Status(200).Has("Gap of 0.375", "10 o&#39;clock", "porous")
	require.NotEmpty(t, a.Select(`[name=outcome][value=gap][checked]`))
	inspector.Get(path + "?gap_clock=4&gap_length=9").Has("once round the stud")

	a = inspector.Post(path, "entry", newEntryID(), "design", design, "outcome", "repaired_fillet", "gap_clock", "4", "gap_length", "3/8", "fillet_size", "1/4", "fillet_length", "1", "welder", "W-9").Status(422)
	a.Has("at least 0.313\u00a0in or 7.9\u00a0mm is asked", "at least 1.125\u00a0in or 28.6\u00a0mm is asked", "W-9")
	require.NotEmpty(t, a.Select(`.summary a[href="#f-fillet_size"]`))
	inspector.Post(path, "entry", newEntryID(), "design", design).Status(422).Has("No such outcome")
	require.Empty(t, p.End("1N-1").Collars)

	gap := []string{"entry", newEntryID(), "design", design, "outcome", "gap", "gap_clock", "4", "gap_length", "3/8", "fissure", "on", "welder", "W-9", "ferrule_lot", "F-2", "height", "3.9", "then", "next"}
	next := inspector.Post(path, gap...).Status(303).Response.Header.Get("Location")
	require.True(t, strings.HasPrefix(next, p.Path("ends", "1N-1", "collars")+"/"), next)
	require.NotEqual(t, path, next)
	inspector.Get(next).Has(`value="W-9"`, `value="F-2"`) // as at the last stud
	inspector.Post(path, gap...).Status(303)
	require.Len(t, p.End("1N-1").Collars, 1)

	inspector.Get(path).Has("collar incomplete, open", "gap of 0.375\u00a0in at 4 o&#39;clock", "fissure", `value="0.375"`)
	inspector.Post(path, "entry", newEntryID(), "design", design, "outcome", "bent_pass", "gap_clock", "4", "gap_length", "3/8", "bend_deg", "15", "bend_clock", "4").Status(422).Has("bend toward 10")
	inspector.Post(path, "entry", newEntryID(), "design", design, "outcome", "bent_pass", "gap_clock", "4", "gap_length", "3/8", "bend_deg", "15", "bend_clock", "10").LeadsTo(p.Path("ends", "1N-1", "collars"))
	a = inspector.Get(path).Has("bent, sound", "Superseded by a later finding")
	require.Len(t, a.Select(".findings li"), 2)

	// What was seen earlier arrives late: it is kept and does not count.
	inspector.Post(path, "entry", newEntryID(), "design", design, "outcome", "rejected", "captured_at", local(ago(2*time.Hour))).Status(303)
	a = inspector.Get(path)
	require.Len(t, a.Select(".findings li"), 3)
	require.Contains(t, a.One("h2#stud"), "bent, sound")
	require.Contains(t, webtest.Text(a.Select(".findings li")[2]), "rejected")
}

func TestUnitsOfTheReader(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	studs := p.approvedLayout("1N-1")
	inspector := p.Role(authz.Inspector)
	require.NoError(t, p.People.SetUnits(t.Context(), inspector.User.ID, new("si")))
	path := p.Path("ends", "1N-1", "collars", studs[0].Mark)
	inspector.Post(path, "entry", newEntryID(), "design", studs[0].DesignID, "outcome", "gap", "gap_clock", "12", "gap_length", "9.5", "height", "98").Status(303)
	c := p.End("1N-1").Collars[0]
	require.Equal(t, units.Length(9.5), *c.GapLength)
	require.Equal(t, units.Length(98), *c.Height)
	inspector.Get(path).Has("9.5\u00a0mm at 12 o&#39;clock", "6 o&#39;clock", `value="9.5"`)
}

func TestRestOfARowIsAskedAndKeepsOtherFindings(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	studs := p.approvedLayout("1N-1")
	design := studs[0].DesignID
	inspector := p.Role(authz.Inspector)
	path := p.Path("ends", "1N-1", "collar-rest")
	a := inspector.Get(path + "?face=L&row=1").Has("Rest of row 1, left face")
	form := []string{"entry", newEntryID(), "design", design, "face", "L", "row", "1", "welder", "W-3"}
	for _, n := range a.Select(`input[name=mark]`) {
		form = append(form, "mark", webtest.Attr(n, "value"))
	}
	require.Len(t, form, 10+2*2)
	first := form[len(form)-1]
	// Meanwhile somebody rejects one of them.
	p.Do(authz.Inspector, "1N-1", repair.RecordCollars{DesignID: design, Collars: []repair.CollarIn{{Mark: first, Outcome: "rejected"}}})
	inspector.Post(path, form...).LeadsTo(p.Path("ends", "1N-1", "collars"))
	require.Equal(t, "rejected", p.End("1N-1").LatestCollars(design)[first].Outcome)
	require.Len(t, p.End("1N-1").Collars, 2)
	form[1] = newEntryID()
	inspector.Post(path, form...).Status(422).Has("Each of these studs has a finding already", "Every stud here has a finding")
	inspector.Get(path + "?face=L&row=9").Status(404)
	inspector.Get(path + "?face=Q").Status(404)
	inspector.Get(path + "?face=L&row=-1").Status(404)
}

func TestFindingOnASupersededDesignIsKept(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	studs := p.approvedLayout("1N-1")
	old := studs[0].DesignID
	p.Role(authz.Inspector).Get(p.Path("ends", "1N-1", "collars")).Lacks("out of date")
	p.Do(authz.Inspector, "1N-1", asFound(0.6))
	p.Role(authz.Inspector).Get(p.Path("ends", "1N-1", "collars")).Has("The design is out of date", "survey 2 came after the approval", "Do not weld to it")
	p.Role(authz.Inspector).Get(p.Path("ends", "1N-1", "collars", studs[0].Mark)).Has("The design is out of date")
	p.approvedLayout("1N-1")
	now := p.End("1N-1").DesignInForce().ID
	require.NotEqual(t, old, now)
	a := p.Role(authz.Inspector).Post(p.Path("ends", "1N-1", "collars", studs[0].Mark), "entry", newEntryID(), "design", old, "outcome", "rejected").Follow()
	a.Has("Revision 2 is in force now")
	require.Equal(t, "rejected", p.End("1N-1").LatestCollars(old)[studs[0].Mark].Outcome)
	require.Empty(t, p.End("1N-1").LatestCollars(now))
	require.NotEmpty(t, a.Select("a.stud-cell.unseen"))
	require.Empty(t, a.Select("a.stud-cell.bad"))
}
