package web_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
)

const editForm = "form.end-edit"

func TestEndFactsAreEditedAsTyped(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	path := p.Path("ends", "1N-1")
	for _, role := range authz.Roles() {
		want := 403
		if role == authz.Designer || role == authz.Engineer || role == authz.Administrator {
			want = 200
		}
		p.Role(role).Get(path + "/edit").Status(want)
		if want == 403 {
			p.Role(role).Post(path+"/edit", "entry", newEntryID(), "version", "1", "reason", "x").Status(403)
		}
	}
	who := p.Role(authz.Designer)
	f := formFields(who.Get(path+"/edit"), editForm)
	require.Equal(t, []string{"110", "33", "8", "on"}, []string{f["reaction"], f["fy"], f["bearing.length"], f["held"]})
	was := p.End("1N-1").End
	who.Post(path+"/edit", f.with("reason", "").list()...).Status(422).Has("ay why the facts of this end change")
	who.Post(path+"/edit", f.with("reason", "looked again").list()...).LeadsTo(path)
	now := p.End("1N-1").End
	require.Equal(t, repair.FactsOf(was), repair.FactsOf(now), "what was not touched stays to the last bit")

	f = formFields(who.Get(path+"/edit"), editForm)
	who.Post(path+"/edit", f.with("reaction", "95 1/2", "bearing.width", "11 1/4", "fy", "230 MPa", "reason", "new rating", "reaction_origin", "rating sheet 12").list()...).Status(303)
	x := p.End("1N-1").End
	require.InDelta(t, 95.5*float64(units.Kip), float64(x.Reaction), 1e-6)
	require.InDelta(t, 230, float64(x.Fy), 1e-9)
	g := formFields(who.Get(path+"/edit"), editForm)
	require.Equal(t, []string{"95 1/2", "11 1/4", "230 MPa"}, []string{g["reaction"], g["bearing.width"], g["fy"]})
	require.Equal(t, p.End("1N-1").State[0].Demand, x.Reaction)

	// An engineer who reads SI touches nothing and moves nothing.
	other := p.Role(authz.Engineer)
	require.NoError(t, p.People.SetUnits(t.Context(), other.User.ID, new("si")))
	si := formFields(other.Get(path+"/edit"), editForm)
	require.Equal(t, "285.75", si["bearing.width"])
	other.Post(path+"/edit", si.with("reason", "read in SI", "held", "").list()...).Status(303)
	y := p.End("1N-1").End
	require.False(t, y.HeldAgainstRoll)
	require.Equal(t, x.Reaction, y.Reaction)
	require.Equal(t, x.BearingWidth, y.BearingWidth)
	v, err := p.Store.Verify(t.Context())
	require.NoError(t, err)
	require.Empty(t, v.Differences)
}

func TestEndFactsAreRefusedByBox(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	path := p.Path("ends", "1N-1", "edit")
	who := p.Role(authz.Designer)
	f := formFields(who.Get(path), editForm)
	a := who.Post(path, f.with("reaction", "lots", "fu", "", "stiffener.pairs", "9", "reason", "try", "fy_origin", "").list()...).Status(422)
	a.Has(`value="lots"`, "Is needed.", "from 0 to 6", "ay where the value comes from")
	b := who.Post(path, f.with("bearing.start", "500", "fy", "5", "reason", "try").list()...).Status(422)
	t.Log(b.One("#errors"))
	b.Has(`value="500"`, "66.20\u00a0in, got 500", "14.5\u00a0ksi to 145.0\u00a0ksi, got 5")
	who.Post(path, f.with("section", newEntryID(), "reason", "try").list()...).Status(422).Has("no such section")
	require.Equal(t, f["version"], p.Version("1N-1"))
}

func TestStaleEndFactsShowBoth(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	path := p.Path("ends", "1N-1", "edit")
	mine, theirs := p.Role(authz.Designer), p.Role(authz.Engineer)
	f := formFields(mine.Get(path), editForm)
	theirs.Post(path, formFields(theirs.Get(path), editForm).with("reaction", "120", "held", "", "reason", "theirs").list()...).Status(303)
	a := mine.Post(path, f.with("reaction", "115", "reason", "mine").list()...).Status(409)
	a.Has("changed this end after you opened the form", "On record now: 120.", `value="115"`, "mine", "On record now: no.")
	g := formFields(a, editForm)
	require.Equal(t, p.Version("1N-1"), g["version"])
	mine.Post(path, g.list()...).Status(303)
	require.InDelta(t, 115*float64(units.Kip), float64(p.End("1N-1").End.Reaction), 1e-6)
}

func TestEndEditInABrowser(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	p.Look(p.Browser(authz.Designer), p.Path("ends", "1N-1", "edit"), "end-edit")
}
