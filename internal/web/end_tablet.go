package web

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"time"

	"endcast/internal/db"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/tablet"
	"endcast/views/end"
)

// mostTabletLines is how many entries of tablets the page of an end lists.
const mostTabletLines = 50

// fromTablets are the entries of tablets at this end that somebody should look at.
func (e *endReader) fromTablets(lines []db.TabletLine) []end.TabletEntry {
	var out []end.TabletEntry
	for _, l := range lines {
		row := end.TabletEntry{What: tablet.Kind(l.Kind).Words(), By: l.ByName, Told: e.when(l.CapturedAt), Arrived: e.when(l.ArrivedAt), Mark: asideMarks[l.State], Remark: inUnits(cmp.Or(l.Reason, l.Differs), e.sys)}
		if l.ClockMarked {
			row.Told, row.Off, row.Right = toldText(l.CapturedText), clockOff(l.ClockS), e.when(l.CapturedAt)
		}
		if l.State == db.TabletStored && l.Differs == "" {
			row.Mark.Text = "clock was wrong"
		}
		out = append(out, row)
	}
	return out
}

// toldText is a time as a tablet told it, on its own clock.
func toldText(text string) string {
	t, err := time.Parse(time.RFC3339, text)
	if err != nil {
		return text
	}
	return t.Format("2006-01-02 15:04 -07:00")
}

// clockOff says by how much a tablet's clock was wrong.
func clockOff(seconds float64) string {
	d := time.Duration(math.Abs(seconds) * float64(time.Second)).Round(time.Minute)
	h, m := int(d.Hours()), int(d.Minutes())%60
	way := "fast"
	if seconds < 0 {
		way = "slow"
	}
	switch {
	case h == 0:
		return fmt.Sprintf("%d min %s", m, way)
	case m == 0:
		return fmt.Sprintf("%d h %s", h, way)
	}
	return fmt.Sprintf("%d h %d min %s", h, m, way)
}

// besides are surveys that read places which another person read as well: one that is
// kept aside beside the one on record, and the last two on record where two people
// took them.
func (e *endReader) besides(lines []db.TabletLine) []end.Beside {
	var out []end.Beside
	last := e.rec.LatestSurvey()
	if last == nil {
		return nil
	}
	for _, l := range lines {
		if tablet.Kind(l.Kind) != tablet.Survey || l.State != db.TabletAside {
			continue
		}
		entry, err := tablet.Decode(l.Raw)
		if err != nil {
			continue
		}
		ch, err := entry.Change(l.CapturedAt.Sub(entry.Captured))
		if err != nil {
			continue
		}
		if in, ok := ch.(repair.RecordSurvey); ok {
			out = append(out, e.surveyBeside(fmt.Sprintf("Kept aside, by %s, %s", l.ByName, e.when(l.CapturedAt)), in.Readings, last))
		}
	}
	before := e.surveyBefore(last)
	if before == nil || before.RecordedBy == last.RecordedBy || before.Kind != last.Kind || last.CapturedAt.Sub(before.CapturedAt).Abs() > sameVisit {
		return out
	}
	var in []repair.ReadingIn
	for _, x := range e.rec.Readings {
		if x.SurveyID == before.ID && x.SupersededBy == nil {
			in = append(in, repair.ReadingIn{Face: x.Face, X: x.X, Z: x.Z, T: x.T, NoAccess: x.NoAccess})
		}
	}
	return append(out, e.surveyBeside(fmt.Sprintf("Survey %d, by %s, %s", before.Number, before.TakenBy, e.when(before.CapturedAt)), in, last))
}

// sameVisit is how far two surveys may lie apart and still be of one visit, in which
// the steel does not change (common practice, no source).
const sameVisit = 72 * time.Hour

func (e *endReader) surveyBefore(last *repair.Survey) *repair.Survey {
	var out *repair.Survey
	for i := range e.rec.Surveys {
		if sv := &e.rec.Surveys[i]; sv.Number < last.Number && (out == nil || sv.Number > out.Number) {
			out = sv
		}
	}
	return out
}

// mostBeside is how many places a comparison lists.
const mostBeside = 30

func (e *endReader) surveyBeside(title string, mine []repair.ReadingIn, last *repair.Survey) end.Beside {
	var that []repair.Reading
	for _, x := range e.rec.Readings {
		if x.SurveyID == last.ID {
			that = append(that, x)
		}
	}
	two := tablet.Compare(mine, that)
	out := end.Beside{Title: title, That: fmt.Sprintf("Survey %d, by %s, %s", last.Number, last.TakenBy, e.when(last.CapturedAt)), Readings: len(mine)}
	if len(two) == 0 {
		out.Says = "No place that both read differs."
		return out
	}
	worst := slices.MaxFunc(two, func(a, b tablet.Two) int {
		return cmp.Compare(math.Abs(float64(a.Differs())), math.Abs(float64(b.Differs())))
	})
	out.Says = fmt.Sprintf("%d places that both read differ, the most by %s.", len(two), worst.Off().Format(e.sys, -1))
	for _, t := range two[:min(len(two), mostBeside)] {
		sign := "+"
		if t.Differs() < 0 {
			sign = "−"
		}
		out.Rows = append(out.Rows, end.BesideRow{Place: faceWords[t.Face] + ", x " + t.X.Format(e.sys, -1) + ", z " + t.Z.Format(e.sys, -1), Mine: t.Mine.Format(e.sys, -1), That: t.That.Format(e.sys, -1),
			Differs: sign + t.Off().Format(e.sys, -1)})
	}
	return out
}
