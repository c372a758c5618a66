package web_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/repair"
	"endcast/internal/web/webtest"
)

func TestNonconformanceFromFindingToClosing(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	path := p.Path("ends", "1N-1", "nonconformances")
	form := []string{"entry", newEntryID(), "requirement", "Least web over the bearing: 1/4 in", "found", "0.03 in left", "containment", "lane closed", "critical", "on", "stops", "WLD", "stops", "COL"}
	raisers := map[authz.Role]bool{authz.Inspector: true, authz.Contractor: true, authz.Engineer: true, authz.Laboratory: true}
	for _, role := range authz.Roles() {
		want := 403
		if raisers[role] {
			want = 200
		}
		p.Role(role).Get(path + "/new").Status(want)
		if want == 403 {
			p.Role(role).Post(path, form...).Status(403)
		}
	}
	inspector, engineer := p.Role(authz.Inspector), p.Role(authz.Engineer)
	a := inspector.Post(path, "entry", newEntryID(), "found", "0.03 in left", "stops", "COL").Status(422).Has("Name the requirement", "0.03 in left")
	require.NotEmpty(t, a.Select(`[name=stops][value=COL][checked]`))

	one := p.Path("nonconformances", "1")
	inspector.Post(path, form...).LeadsTo(one).Follow().Has("Tell the engineer by voice", "Critical finding", "Stop work at this end", "shore the girder", "0.03 in left", "lane closed", "waits for a decision")
	inspector.Post(path, form...).LeadsTo(one)
	require.Len(t, p.End("1N-1").Nonconformances, 1)
	inspector.Get(p.Path("ends", "1N-1", "field")).Has("Critical finding", "0.03 in left")
	inspector.Get(p.Path("field")).Has("critical finding")

	// Only the engineer decides, and says why.
	for _, role := range authz.Roles() {
		b := p.Role(role).Get(one).Status(200)
		require.Equal(t, role == authz.Engineer, len(b.Select("form#decide")) == 1, role)
		require.Empty(t, b.Select("form#close"), role)
		if role != authz.Engineer {
			p.Role(role).Post(one+"/decide", "entry", newEntryID(), "version", p.Version("1N-1"), "disposition", "rework", "instructions", "weld").Status(403)
		}
	}
	engineer.Post(one+"/close", "entry", newEntryID(), "version", p.Version("1N-1"), "reinspection", "seen").Status(422).Has("has no disposition yet")
	engineer.Post(one+"/decide", "entry", newEntryID(), "version", p.Version("1N-1"), "cause", "leak").Status(422).Has("Choose what becomes of it", "or why it may stay as it is.", "leak")
	engineer.Post(one+"/decide", "entry", newEntryID(), "version", p.Version("1N-1"), "disposition", "shrug", "instructions", "x").Status(422).Has("Must be one of")
	engineer.Post(one+"/decide", "entry", newEntryID(), "version", p.Version("1N-1"), "disposition", "use_as_is", "instructions", "the stiffener carries it", "cause", "leak").LeadsTo(one)
	engineer.Get(one).Has("decided: use as is", "the stiffener carries it", "Next: the owner&#39;s engineer")

	// A concession is closed by the engineer only; what was mended also by an inspector.
	inspector.Get(one).None("form#close")
	inspector.Post(one+"/close", "entry", newEntryID(), "version", p.Version("1N-1"), "reinspection", "seen").Status(403)
	engineer.Post(one+"/decide", "entry", newEntryID(), "version", p.Version("1N-1"), "disposition", "rework", "instructions", "build up with weld").LeadsTo(one)
	inspector.Get(one).Has("Next: the contractor").One("form#close h2")
	p.Role(authz.Contractor).Post(one+"/close", "entry", newEntryID(), "version", p.Version("1N-1"), "reinspection", "seen").Status(403)
	inspector.Post(one+"/close", "entry", newEntryID(), "version", p.Version("1N-1")).Status(422).Has("Say what the re-inspection found")
	inspector.Post(one+"/close", "entry", newEntryID(), "version", p.Version("1N-1"), "reinspection", "web 0.31 in after the build-up").Status(422).Has("what caused it")
	inspector.Post(one+"/close", "entry", newEntryID(), "version", p.Version("1N-1"), "reinspection", "web 0.31 in after the build-up", "cause", "leak").LeadsTo(one)
	p.Role(authz.Manager).Get(one).Has("closed, rework", "web 0.31 in after the build-up", "Nobody must act").Lacks("Stop work")
	engineer.Post(one+"/close", "entry", newEntryID(), "version", p.Version("1N-1"), "reinspection", "again").Status(422).Has("is closed")
	p.Role(authz.Manager).Get(p.Path("nonconformances", "2")).Status(404)
	p.Role(authz.Manager).Get(p.Path("nonconformances", "none")).Status(404)
	p.AsIn(p.NewProgram("other"), authz.Engineer).Get(one).Status(404)
}

func TestStaleDecisionStandsBesideWhatIsStored(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	p.Do(authz.Inspector, "1N-1", repair.RaiseNonconformance{Requirement: "collar full", Found: "gap"})
	engineer, one := p.Role(authz.Engineer), p.Path("nonconformances", "1")
	old := p.Version("1N-1")
	p.Do(authz.Engineer, "1N-1", repair.DecideNonconformance{Number: 1, Disposition: "repair", Instructions: "fillet weld"})
	entry := newEntryID()
	a := engineer.Post(one+"/decide", "entry", entry, "version", old, "disposition", "reject", "instructions", "cut it off").Status(409)
	a.Has("changed the record of this end after you opened it", "cut it off", "fillet weld", "decided: repair")
	require.NotEmpty(t, a.Select(`[name=disposition][value=reject][checked]`))
	fresh := webtest.Attr(a.Select("form#decide [name=version]")[0], "value")
	again := webtest.Attr(a.Select("form#decide [name=entry]")[0], "value")
	require.Equal(t, "repair", p.End("1N-1").Nonconformances[0].Disposition)
	engineer.Post(one+"/decide", "entry", again, "version", fresh, "disposition", "reject", "instructions", "cut it off").LeadsTo(one)
	require.Equal(t, "reject", p.End("1N-1").Nonconformances[0].Disposition)
}

func TestListOfNonconformances(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	list := p.Path("nonconformances")
	p.Role(authz.Manager).Get(list).Has("There is none of these")
	p.Do(authz.Inspector, "1N-1", repair.RaiseNonconformance{Requirement: "first", Found: "a"})
	p.Do(authz.Contractor, "1F-2", repair.RaiseNonconformance{Requirement: "second", Found: "b", Critical: true, Stops: []string{"REL"}})
	p.Do(authz.Inspector, "1N-1", repair.RaiseNonconformance{Requirement: "third", Found: "c"})
	p.Do(authz.Engineer, "1N-1", repair.DecideNonconformance{Number: 3, Disposition: "rework", Instructions: "again"})
	p.Do(authz.Engineer, "1N-1", repair.CloseNonconformance{Number: 3, Reinspection: "fine", Cause: "haste"})
	order := func(a *webtest.Answer) (out []string) {
		for _, n := range a.Select("tbody td:first-child a") {
			out = append(out, webtest.Text(n))
		}
		return out
	}
	for _, role := range authz.Roles() {
		a := p.Role(role).Get(list).Status(200).Has("Abutment 2, back face", "Released for casting", "every step that allows none open")
		require.Equal(t, []string{"2", "1"}, order(a), "critical first")
	}
	m := p.Role(authz.Manager)
	require.Equal(t, []string{"3"}, order(m.Get(list+"?show=closed").Has("closed, rework", "nobody")))
	require.Equal(t, []string{"2"}, order(m.Get(list+"?show=critical")))
	require.Equal(t, []string{"2", "1", "3"}, order(m.Get(list+"?show=all")))
	require.Equal(t, []string{"1"}, order(m.Get(list+"?end=1n-1").Has("Nonconformances of 1N-1")))
	require.Equal(t, []string{"1", "3"}, order(m.Get(list+"?end=1n-1&show=all")))
}
