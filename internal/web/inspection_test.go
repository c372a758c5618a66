package web_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/authz"
)

// Who signs is who completes the step that rests on the finding.
func TestInspectionIsSignedByThoseOfItsStep(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	path := p.Path("ends", "1N-1", "inspections")
	may := map[string][]authz.Role{"curing": {authz.Contractor, authz.Inspector}, "hardened": {authz.Inspector}, "gauges": {authz.Contractor, authz.Inspector}, "load_path": {authz.Engineer}}
	for subject, roles := range may {
		for _, role := range authz.Roles() {
			want := 403
			for _, r := range roles {
				if r == role {
					want = 200
				}
			}
			p.Role(role).Get(path + "/new?subject=" + subject).Status(want)
			if want == 403 {
				p.Role(role).Post(path, "entry", newEntryID(), "subject", subject, "outcome", "accepted", "note", "x").Status(403)
			}
		}
	}
	inspector := p.Role(authz.Inspector)
	inspector.Get(path+"/new").Has("Curing complete", "Hardened panel", "Gauges at zero").Lacks("Load path")
	inspector.Get(path + "/new?subject=weather").Status(404)
	inspector.Get(path + "/new?subject=hardened").Has("has not been cast").None("form.field-form")
	inspector.Post(path, "entry", newEntryID(), "subject", "hardened", "outcome", "accepted", "note", "sounded").Status(422).Has("has not been cast")

	a := inspector.Post(path, "entry", newEntryID(), "subject", "gauges", "outcome", "engaged", "note", "all four read").Status(422)
	a.Has("Must be one of", "all four read")
	inspector.Post(path, "entry", newEntryID(), "subject", "gauges", "outcome", "accepted").Status(422).Has("Say what was looked at")
	form := []string{"entry", newEntryID(), "subject", "gauges", "outcome", "accepted", "note", "all four read"}
	inspector.Post(path, form...).LeadsTo(p.Path("ends", "1N-1", "field"))
	inspector.Post(path, form...).Status(303)
	inspector.Get(path+"/new?subject=gauges").Has("accepted", "all four read", "inspector")
	p.Role(authz.Engineer).Post(path, "entry", newEntryID(), "subject", "load_path", "outcome", "undecided", "note", "too few trucks").Status(303)
	r := p.End("1N-1")
	require.Len(t, r.Inspections, 2)
	require.Equal(t, "undecided", r.LatestInspection("load_path").Outcome)
}
