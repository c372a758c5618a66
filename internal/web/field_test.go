package web_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/encasement"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
)

func cleanedZones(t testing.TB) repair.RecordCleanings {
	t.Helper()
	steel, dew, wet := units.Temperature(18), units.Temperature(9), 62.0
	return repair.RecordCleanings{Method: "power_tool", StartedAt: ago(30 * time.Hour), EndedAt: ago(26 * time.Hour), SolventFirst: true, SteelTemp: &steel, DewPoint: &dew, Humidity: &wet,
		Zones: []repair.ZoneIn{{Zone: "stud_positions", Grade: "SP11", Rust: "none", Profile: 0.04}, {Zone: "encased_area", Grade: "SP15", Rust: "light"}}}
}

// approvedLayout carries an end to an approved design that passes every check: the
// layout that the program proposes for half of the web lost low down.
func (p *testProgram) approvedLayout(end string) []repair.Stud {
	p.t.Helper()
	ch := repair.RecordSurvey{Facts: repair.SurveyFacts{Kind: "as_found", Method: "ultrasonic"}}
	for j := range 8 {
		for i := range 8 {
			ch.Readings = append(ch.Readings, repair.ReadingIn{Face: "T", X: units.Length(2+3*i) * units.Inch, Z: units.Length(1+3*j) * units.Inch,
				T: units.Length(0.58*(1-max(0, 0.5-0.15*float64(j)))) * units.Inch})
		}
	}
	p.Do(authz.Inspector, end, ch)
	s := p.Scope(end)
	r := s.Ends[0]
	d, err := encasement.Propose(s.Basis(), r.Geometry(s), r.Steel(s), r.End.Reaction, encasement.Materials{
		StudDiameter: 0.75 * units.Inch, StudHeight: 4 * units.Inch, StudFu: 60 * units.Ksi, Fc: 18 * units.Ksi})
	require.NoError(p.t, err)
	p.Do(authz.Designer, end, repair.SaveDesign{Design: repair.DesignFrom(d)})
	p.Do(authz.Designer, end, repair.SubmitDesign{})
	s = p.Scope(end)
	row := s.Ends[0].LatestDesign()
	p.Do(authz.Engineer, end, repair.ReviewDesign{DesignID: row.ID, Decision: repair.DesignApproved, Digest: s.Ends[0].DesignDigest(s, row)})
	return s.Ends[0].StudsOf(row.ID)
}

// findings gives the first studs of an end a finding of every kind.
func (p *testProgram) findings(end string, studs []repair.Stud) {
	p.t.Helper()
	clock, gap, bend, away := 4, 0.4*units.Inch, 15.0, 10
	size, length := 0.3125*units.Inch, 1.25*units.Inch
	in := []repair.CollarIn{{Outcome: "full"}, {Outcome: "repaired_fillet", GapClock: &clock, GapLength: &gap, FilletSize: &size, FilletLen: &length},
		{Outcome: "gap", GapClock: &clock, GapLength: &gap, Fissure: true}, {Outcome: "bent_pass", GapClock: &clock, GapLength: &gap, BendDeg: &bend, BendClock: &away},
		{Outcome: "rejected", Note: "blown out"}, {Outcome: "replaced"}}
	for i := range in {
		in[i].Mark, in[i].Welder, in[i].FerruleLot = studs[i].Mark, "W-3", "F-12"
	}
	p.Do(authz.Inspector, end, repair.RecordCollars{DesignID: studs[0].DesignID, Collars: in})
}

func TestFieldStartLeadsToAnEndInTwoSteps(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	for role, status := range map[authz.Role]int{authz.Inspector: 200, authz.Contractor: 200, authz.Engineer: 200, authz.Designer: 200, authz.Laboratory: 200, authz.Manager: 403, authz.Administrator: 403} {
		p.Role(role).Get(p.Path("field")).Status(status)
		p.Role(role).Get(p.Path("ends", "1N-1", "field")).Status(status)
	}
	p.Role(authz.Manager).Get(p.Path("ends")).None(`.index a[href$="/field"]`)
	contractor := p.Role(authz.Contractor)
	a := contractor.Get(p.Path("field")).Has("Span 1, near end", "Abutment 1, ahead face", "Span 1, far end", "Abutment 2, back face", "2 ends, 2 open, 2 for you")
	require.Len(t, a.Select(".place-card.mine"), 4, "every end begins with the contractor")
	require.Empty(t, p.Role(authz.Inspector).Get(p.Path("field")).Select(".place-card.mine"))
	a.One(`.index ul ul a[href$="/field"]`)
	a = contractor.Get(p.Path("field")+"?span=1&side=F").Has("1F-1", "1F-2", "Abutment 2, back face").Lacks("1N-1")
	a.One(`a.place-card[href="` + p.Path("ends", "1F-2", "field") + `"]`)
	contractor.Get(p.Path("field") + "?span=7&side=N").Status(404)
	contractor.Get(p.Path("ends", "1F-2", "field")).Has("1F-2", "Abutment 2, back face", "Next: Access set", "Cleaning", "Nonconformance").Lacks("Survey")
	p.AsIn(p.NewProgram("other"), authz.Inspector).Get(p.Path("field")).Status(404)
}
