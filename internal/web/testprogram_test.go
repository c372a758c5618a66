package web_test

import (
	"context"
	"fmt"
	"net/url"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/google/uuid"
	"github.com/stretchr/testify/require"

	"endcast/internal/db"
	"endcast/internal/domain/authz"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
	"endcast/internal/web"
	"endcast/internal/web/browsertest"
	"endcast/internal/web/webtest"
)

// testProgram is a running site with one small bridge in it, made through the
// store as people make one: a span of two girders, four ends (1N-1, 1N-2, 1F-1,
// 1F-2), and one person of every role.
type testProgram struct {
	*webtest.Site
	Store *db.Store
	ID    string // of the program
	code  string // its part of the address

	t       testing.TB
	ctx     context.Context
	clients map[authz.Role]*webtest.Client
}

// programCode is the part of the address that names the program.
const programCode = "small"

func newTestProgram(t testing.TB, changes ...func(*web.Config)) *testProgram {
	t.Helper()
	p := &testProgram{Site: webtest.New(t, changes...), code: programCode, t: t, ctx: context.Background(), clients: map[authz.Role]*webtest.Client{}}
	p.Store = db.NewStore(p.Pool)
	id := uuid.Must(uuid.NewV7())
	p.ID = id.String()
	admin := p.NewUser("bridge.admin@ends.test", false)
	who := repair.Actor{ID: admin.ID.String(), Name: admin.Name, Role: authz.Administrator}
	for _, change := range []repair.Change{
		repair.CreateProgram{Program: repair.Program{ID: p.ID, Code: programCode, Name: "Small bridge repairs", Units: "us"}},
		repair.ImportBridge{Bridge: testBridge()},
	} {
		_, err := p.Store.Edit(p.ctx, db.Entry{ID: newEntryID(), ProgramID: p.ID, Actor: who, Change: change})
		require.NoError(t, err)
	}
	_, err := p.Pool.Exec(p.ctx, "delete from program where id = $1", p.Program) // the bare one of the site: it is not in the journal
	require.NoError(t, err)
	p.Program = id
	return p
}

func newEntryID() string { return uuid.Must(uuid.NewV7()).String() }

// testBridge is one span of two rolled girders on two abutments.
func testBridge() repair.BridgeIn {
	in := repair.BridgeIn{
		Supports: []repair.SupportIn{{Code: "A1", Name: "Abutment 1"}, {Code: "A2", Name: "Abutment 2", Station: 60 * units.Foot}},
		Spans:    []repair.SpanIn{{Number: 1, Length: 60 * units.Foot, Girders: 2, Spacing: 8 * units.Foot, From: "A1", To: "A2"}},
		Sections: []repair.Section{{Name: "W33X130", Kind: "rolled", Depth: 33.1 * units.Inch, FlangeWidth: 11.5 * units.Inch, TopFlangeWidth: 11.5 * units.Inch,
			FlangeThickness: 0.855 * units.Inch, TopFlangeThickness: 0.855 * units.Inch, WebThickness: 0.58 * units.Inch, FilletK: 1.56 * units.Inch,
			Source: "AISC shapes database v15.0"}},
	}
	for _, side := range []string{"N", "F"} {
		for g := 1; g <= 2; g++ {
			sup, face := "A1", "ahead"
			if side == "F" {
				sup, face = "A2", "back"
			}
			in.Ends = append(in.Ends, repair.EndIn{Span: 1, Side: side, Girder: g, Support: sup, Face: face, Section: "W33X130", Facts: repair.EndFacts{
				BearingKind: "bolster", BearingLength: 8 * units.Inch, BearingWidth: 11 * units.Inch, Fy: 33 * units.Ksi, Fu: 66 * units.Ksi,
				FyOrigin: "mill certificate, invented", HeldAgainstRoll: true, Reaction: 110 * units.Kip, ReactionOrigin: "load rating, invented", Access: "open"}})
		}
	}
	return in
}

// Role returns the person of a role in the program, signed in; always the same one.
func (p *testProgram) Role(role authz.Role) *webtest.Client {
	p.t.Helper()
	c, ok := p.clients[role]
	if !ok {
		c = p.As(role)
		p.clients[role] = c
	}
	return c
}

// Actor is the person of a role as the record names them.
func (p *testProgram) Actor(role authz.Role) repair.Actor {
	p.t.Helper()
	u := p.Role(role).User
	return repair.Actor{ID: u.ID.String(), Name: u.Name, Role: role}
}

// Path is the address of a page of the program: Path("ends", "1N-1").
func (p *testProgram) Path(parts ...string) string {
	out := "/p/" + p.code
	for _, part := range parts {
		out += "/" + url.PathEscape(part)
	}
	return out
}

// Scope loads an end with its program.
func (p *testProgram) Scope(end string) *repair.Scope {
	p.t.Helper()
	s, err := p.Store.End(p.ctx, p.ID, end)
	require.NoError(p.t, err)
	return s
}

// End loads an end.
func (p *testProgram) End(end string) *repair.Record {
	p.t.Helper()
	return p.Scope(end).Ends[0]
}

// Version is the version of an end now, as a form carries it.
func (p *testProgram) Version(end string) string {
	p.t.Helper()
	return fmt.Sprint(p.End(end).End.Version)
}

// Do makes a change at an end through the store, as the person of a role.
func (p *testProgram) Do(role authz.Role, end string, change repair.Change) {
	p.t.Helper()
	require.NoError(p.t, p.Try(role, end, change))
}

// Try is Do for a change that may be refused.
func (p *testProgram) Try(role authz.Role, end string, change repair.Change) error {
	p.t.Helper()
	_, err := p.Store.Edit(p.ctx, db.Entry{ID: newEntryID(), ProgramID: p.ID, Actor: p.Actor(role), Ends: []db.EndRef{{ID: p.End(end).End.ID}}, Change: change})
	return err
}

// DoProgram makes a change of the whole program, as the person of a role.
func (p *testProgram) DoProgram(role authz.Role, change repair.Change) {
	p.t.Helper()
	_, err := p.Store.Edit(p.ctx, db.Entry{ID: newEntryID(), ProgramID: p.ID, Actor: p.Actor(role), AllEnds: true, Change: change})
	require.NoError(p.t, err)
}

// tryProgram is DoProgram for any person, which may be refused.
func (p *testProgram) tryProgram(who repair.Actor, change repair.Change) error {
	_, err := p.Store.Edit(p.ctx, db.Entry{ID: newEntryID(), ProgramID: p.ID, Actor: who, Change: change})
	return err
}

func mustUUID(s string) uuid.UUID { return uuid.MustParse(s) }

// Browser opens a real browser as the person of a role.
func (p *testProgram) Browser(role authz.Role) *browsertest.Page {
	p.t.Helper()
	page := browsertest.New(p.t, p.Handler)
	page.UseCookies(p.Role(role).Cookies()...)
	return page
}

// Look opens a page as people see it, light and dark, on a desk and on a tablet,
// checks it against the accessibility rules, that nothing sticks out to the right
// and that no script or resource failed, and keeps pictures under the name.
func (p *testProgram) Look(page *browsertest.Page, path, name string) {
	p.t.Helper()
	for _, size := range []struct {
		name string
		w, h int
	}{{"desk", 1280, 800}, {"tablet", 820, 1180}} {
		page.SetViewport(size.w, size.h)
		page.SetDark(false)
		require.Equal(p.t, 200, page.Open(path), path)
		page.Screenshot(name + "-" + size.name + "-light")
		page.Axe(p.t)
		require.Empty(p.t, page.Overflows(), "%s on a %s", path, size.name)
		// The ground is a matter of the style sheet alone: the page stays as it is.
		page.SetDark(true)
		page.Screenshot(name + "-" + size.name + "-dark")
		page.AxeOnColors(p.t)
	}
	require.Empty(p.t, page.Problems(), path)
}

// asFound is a survey of a grid of readings that thin towards the flange; loss is
// the deepest share of the web that is gone.
func asFound(loss float64) repair.RecordSurvey {
	ch := repair.RecordSurvey{Facts: repair.SurveyFacts{Kind: "as_found", Method: "ultrasonic", Gauge: "UT 7", Note: "after a wire brush"}}
	for i := range 5 {
		for j := range 4 {
			t := 0.58 * (1 - loss/float64(1+j))
			ch.Readings = append(ch.Readings, repair.ReadingIn{Face: "T", X: units.Length(3*i) * units.Inch, Z: units.Length(1+3*j) * units.Inch, T: units.Length(t) * units.Inch})
		}
	}
	return ch
}

// smallDesign is a panel with studs in two columns on both faces.
func smallDesign() repair.SaveDesign {
	in := repair.DesignIn{StudDiameter: 0.625 * units.Inch, StudHeight: 2 * units.Inch, StudFu: 65 * units.Ksi, Fc: 20 * units.Ksi,
		PanelX: 0, PanelZ: 1 * units.Inch, PanelWidth: 16 * units.Inch, PanelHeight: 24 * units.Inch, PanelLeft: 3 * units.Inch, PanelRight: 3 * units.Inch,
		Note: "to be reviewed as it is"}
	for _, face := range []string{"L", "R"} {
		for row := 1; row <= 5; row++ {
			for col := 1; col <= 2; col++ {
				in.Studs = append(in.Studs, repair.StudIn{Mark: fmt.Sprintf("%s%d-%d", face, row, col), Row: row, Col: col, Face: face,
					X: units.Length(3+6*(col-1)) * units.Inch, Z: units.Length(4*row) * units.Inch})
			}
		}
	}
	return repair.SaveDesign{Design: in}
}

// approved carries an end to an approved design on a survey.
func (p *testProgram) approved(end string) {
	p.t.Helper()
	p.Do(authz.Inspector, end, asFound(0.5))
	p.Do(authz.Designer, end, smallDesign())
	p.Do(authz.Designer, end, repair.SubmitDesign{})
	s := p.Scope(end)
	d := s.Ends[0].LatestDesign()
	p.Do(authz.Engineer, end, repair.ReviewDesign{DesignID: d.ID, Decision: repair.DesignApproved, Digest: s.Ends[0].DesignDigest(s, d)})
}

// ago is a time of the past, for things seen before they arrive.
func ago(d time.Duration) time.Time { return time.Now().UTC().Add(-d).Truncate(time.Minute) }

func TestTestProgramIsVerified(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	p.approved("1N-1")
	v, err := p.Store.Verify(p.ctx)
	require.NoError(t, err)
	require.Empty(t, v.Differences)
	require.Equal(t, 4, v.Ends)
	require.False(t, p.End("1N-1").LatestDesign().CreatedAt.Before(ago(time.Hour)))
}

// keep writes a file beside the pictures of a test, where ENDCAST_SHOTS names a
// folder for them.
func keep(t testing.TB, name string, data []byte) {
	t.Helper()
	if dir := os.Getenv("ENDCAST_SHOTS"); dir != "" {
		require.NoError(t, os.WriteFile(filepath.Join(dir, name), data, 0o644))
	}
}
