package web_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
	"endcast/internal/web/webtest"
)

func TestGateIsDecidedOnItsPage(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	const name = "1N-1"
	at := p.Path("ends", name, "gates", "strip")
	engineer := p.Role(authz.Engineer)
	engineer.Get(p.Path("ends", name, "gates", "bridge")).Status(404)
	engineer.Get(at).Has("no batch is on record").None(`button[value=passed]`)
	start := time.Now().UTC().Add(-97 * time.Hour).Truncate(time.Minute)
	placed := start.Add(10 * time.Minute)
	p.Do(authz.Inspector, name, repair.RecordPour{StartedAt: start, Batches: []repair.BatchIn{{MixedAt: start, PlacedAt: &placed}},
		Specimens: []repair.SpecimenSet{{Batch: 1, Kind: "cyl_3x6", Curing: "field", NominalDays: 4, Count: 3, Purpose: "strip"}}})
	w := 3 * units.Inch
	for _, mark := range []string{"P001-01", "P001-02", "P001-03"} {
		p.Do(authz.Laboratory, name, repair.RecordBreak{Mark: mark, BrokenAt: placed.Add(96 * time.Hour), Load: 110 * units.Kip, Width: &w, Depth: &w, EndsGround: true})
	}
	engineer.Get(at).Has("the curing log is not complete").None(`button[value=passed]`)
	p.Do(authz.Inspector, name, repair.RecordInspection{Subject: "curing", Outcome: "accepted", Note: "looked through"})
	for _, role := range authz.Roles() {
		a := p.Role(role).Get(at).Status(200).Has("the rule is met", "A forecast opens no gate")
		may := role == authz.Engineer || role == authz.Inspector
		require.Equal(t, may, len(a.Select("form#decide")) == 1, role)
		if !may {
			p.Role(role).Post(at, "entry", newEntryID(), "version", p.Version(name), "decision", "passed").Status(403)
		}
	}
	p.Role(authz.Inspector).Post(p.Path("ends", name, "gates", "traffic"), "entry", newEntryID(), "version", p.Version(name), "decision", "refused", "reasons", "x").Status(403)
	digest := webtest.Attr(engineer.Get(at).Select("form#decide [name=from]")[0], "value")
	engineer.Post(at, "entry", newEntryID(), "version", p.Version(name), "decision", "refused").Status(422).Has("Say why the gate is refused")
	engineer.Post(at, "entry", newEntryID(), "version", p.Version(name), "decision", "passed", "from", digest).LeadsTo(at)
	engineer.Get(at).Has("Passed by", "release the form to be stripped")
	p.Do(authz.Engineer, name, repair.ExcludeSpecimen{Mark: "P001-01", Why: "chipped"})
	engineer.Get(at).Has("has changed: decide anew").None(`button[value=passed]`)
}
