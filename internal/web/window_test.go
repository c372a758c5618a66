package web_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/repair"
)

// underClosure gives an end an access that needs a window, and completes nothing.
func (p *testProgram) underClosure(end, kind string) {
	p.t.Helper()
	f := repair.FactsOf(p.End(end).End)
	f.Access = kind
	p.Do(authz.Designer, end, repair.EditEnd{Facts: f, Reason: "the ramp runs below it"})
}

func TestWindowIsPlannedGrantedShortenedAndLost(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	p.underClosure("1N-1", "ramp closure")
	path := p.Path("windows")
	contractor, engineer := p.Role(authz.Contractor), p.Role(authz.Engineer)
	contractor.Get(path).Status(200).Has("Ramp closure", "1 open end needs it, 0 wait for a window")
	for _, role := range []authz.Role{authz.Designer, authz.Inspector, authz.Laboratory, authz.Manager} {
		p.Role(role).Get(path).Status(200).None("main form.stack")
		p.Role(role).Post(path, "entry", newEntryID(), "kind", "ramp closure").Status(403)
	}
	contractor.Post(path, "entry", newEntryID(), "kind", "ramp closure", "starts_at", "2027-05-08T20:00").Status(422).Has("A date and a time are needed", "2027-05-08T20:00")
	contractor.Post(path, "entry", newEntryID(), "kind", "ramp closure", "starts_at", "2027-05-08T20:00", "ends_at", "2027-05-08T06:00").Status(422).Has("Must lie after the start", "2027-05-08T06:00")
	contractor.Post(path, "entry", newEntryID(), "kind", "ramp closure", "starts_at", "2027-05-08T20:00", "ends_at", "2027-05-09T06:00", "productive_h", "12").Status(422).Has("Must not exceed the 10.00 h")
	contractor.Post(path, "entry", newEntryID(), "kind", "ramp closure", "starts_at", "2027-05-08T20:00", "ends_at", "2027-05-09T06:00", "productive_h", "7.5").LeadsTo(path).Follow().Has("2027-05-09 06:00", "7.5", "1 waits for a window")
	state := p.End("1N-1").State[0]
	require.Equal(t, "window_not_granted", state.Reason)

	win := p.Scope("1N-1").Windows[0]
	at := p.Path("windows", win.ID)
	form := formAt(contractor.Get(at).Status(200), "main form.stack")
	require.Equal(t, "2027-05-09T06:00", form.Get("ends_at"))
	contractor.Post(at, pressed(form, "granted")...).Status(403)
	engineer.Post(at, pressed(form, "granted")...).LeadsTo(path)
	require.Empty(t, p.End("1N-1").State[0].Reason, "the end may be worked now")

	// The page of before is refused beside what is stored.
	form.Set("party", "owner")
	form.Set("reason", "police not sent")
	form.Set("entry", newEntryID())
	clash := contractor.Post(at, pressed(form, "lost")...).Status(409).Has("the window is granted now", "police not sent")
	form = formAt(clash, "main form.stack")
	form.Set("party", "")
	refused := contractor.Post(at, pressed(form, "shortened")...).Status(422)
	refused.Has("needs the party that caused it")
	form.Set("party", "owner")
	contractor.Post(at, pressed(form, "shortened")...).Status(422).Has("must be shorter than before")
	form.Set("ends_at", "2027-05-09T02:00")
	form.Set("productive_h", "")
	contractor.Post(at, pressed(form, "shortened")...).LeadsTo(path).Follow().Has("shortened", "owner", "police not sent", "was granted")
	require.Empty(t, p.End("1N-1").State[0].Reason)

	form = formAt(contractor.Get(at), "main form.stack")
	form.Set("reason", "storm")
	contractor.Post(at, pressed(form, "lost")...).LeadsTo(path)
	require.Equal(t, "window_lost", p.End("1N-1").State[0].Reason)
	contractor.Get(p.Path("windows", "none")).Status(404)
	v, err := p.Store.Verify(p.ctx)
	require.NoError(t, err)
	require.Empty(t, v.Differences)
}
