package web_test

import (
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"endcast/internal/db"
	"endcast/internal/domain/authz"
	"endcast/internal/domain/repair"
	"endcast/internal/web/webtest"
)

func TestStudQuality(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	page := p.Browser(authz.Manager)
	p.Look(page, p.Path("stud-quality"), "stud-quality-empty")
	for _, end := range []string{"1N-1", "1N-2", "1F-1"} {
		p.approved(end)
		d := p.End(end).DesignInForce()
		ch := repair.RecordCollars{DesignID: d.ID}
		for i, st := range p.End(end).StudsOf(d.ID) {
			in := repair.CollarIn{Mark: st.Mark, Outcome: "full", Welder: "W-" + end[3:]}
			if end == "1F-1" && i < 9 {
				in.Outcome = "rejected"
			}
			ch.Collars = append(ch.Collars, in)
		}
		_, err := p.Store.Edit(p.ctx, db.Entry{ID: newEntryID(), ProgramID: p.ID, Actor: p.Actor(authz.Inspector), Captured: ago(map[string]time.Duration{"1N-1": 90, "1N-2": 60, "1F-1": 30}[end] * time.Hour),
			Ends: []db.EndRef{{ID: p.End(end).End.ID}}, Change: ch})
		require.NoError(t, err)
	}
	// Welded again: the stud was rejected all the same.
	d := p.End("1F-1").DesignInForce()
	p.Do(authz.Inspector, "1F-1", repair.RecordCollars{DesignID: d.ID, Collars: []repair.CollarIn{{Mark: p.End("1F-1").StudsOf(d.ID)[0].Mark, Outcome: "replaced", Welder: "W-9"}}})
	a := p.Role(authz.Manager).Get(p.Path("stud-quality")).Status(200).Has("60 studs have a finding; 9 were rejected")
	require.Len(t, a.Select("table"), 6)
	require.Len(t, a.Select(".reject-chart .point"), 3)
	rows := a.Select("table:first-of-type tbody tr")
	var shifts []string
	for _, row := range a.Select(`caption`) {
		shifts = append(shifts, webtest.Text(row))
	}
	require.Equal(t, []string{"By shift", "By welder", "By face of the web", "By row, from the bottom flange", "By column, from the girder end", "By nearness to a flange"}, shifts)
	require.NotEmpty(t, rows)
	// The shifts come in the order of time, each with its own limits.
	var days []string
	for _, th := range a.Select("table:first-of-type tbody th")[:3] {
		days = append(days, webtest.Text(th))
	}
	require.IsIncreasing(t, days)
	a.Has("Left face", "Right face", "Row 01", "Column 01", "Beside a flange, within 4.000")
	a.Has("more than chance: look for the cause", "0 to", fmt.Sprintf("%.1f %%", 45.0))
	p.Look(page, p.Path("stud-quality"), "stud-quality")
}
