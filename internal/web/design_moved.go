package web

import (
	"fmt"
	"strconv"
	"time"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/survey"
	"endcast/internal/domain/units"
	"endcast/views/design"
	"endcast/views/ui"
)

// mostReadings is how many changed readings stand open on a page; the worst come
// first.
const mostReadings = 6

// moved is what the end is known to be now beside what it was known to be at a
// moment, such as that of an approval.
func (e *endReader) moved(since time.Time, words string) (design.Moved, error) {
	wasRow, was := e.rec.SurveyAt(since)
	isRow := e.rec.LatestSurvey()
	m := e.steelMoved(wasRow, was, isRow, e.rec.SurveyFindings(isRow))
	m.Since = words
	facts, err := e.factsMoved(since)
	if err != nil {
		return m, err
	}
	m.Facts = append(facts, m.Facts...)
	for _, c := range e.sc.Settings {
		if d, ok := basis.Lookup(basis.Key(c.Key)); ok && c.SetAt.After(since) {
			m.Facts = append(m.Facts, design.Changed{What: "Design basis: " + d.Name, Mark: ui.Mark{State: ui.Caution, Text: "set"},
				Was: "–", Is: basisValue(d.Unit, c.Value, e.sys)})
		}
	}
	if m.Empty() {
		m.Text = "Neither the readings nor the facts of the end changed since " + words + ": the design basis, the section or the method of calculation did."
	}
	return m, nil
}

func basisValue(unit basis.Unit, v float64, sys units.System) string {
	kind, ok := units.KindNamed(string(unit))
	if !ok {
		kind = units.Numbers
	}
	return kind.Format(v, sys, -1)
}

// steelMoved compares two states of knowledge of the steel.
func (e *endReader) steelMoved(wasRow *repair.Survey, was *survey.Survey, isRow *repair.Survey, is *survey.Survey) design.Moved {
	m := design.Moved{Was: surveyName(wasRow), Is: surveyName(isRow)}
	switch {
	case isRow == nil:
		return m
	case wasRow == nil:
		m.Text = surveyName(isRow) + " was not there yet."
	case wasRow.ID != isRow.ID:
		m.Text = fmt.Sprintf("Survey %d, taken %s, came after survey %d.", isRow.Number, e.when(isRow.CapturedAt), wasRow.Number)
	default:
		m.Was, m.Is = "Was", "Is"
	}
	if was != nil && is != nil {
		m.Facts = e.findingsMoved(was, is)
	}
	list := repair.CompareReadings(was, is)
	thinner := 0
	for i, c := range list {
		if c.Thinner() > 0 {
			thinner++
		}
		if i < mostReadings {
			m.Readings = append(m.Readings, e.readingMoved(c))
		} else {
			m.Rest = append(m.Rest, e.readingMoved(c))
		}
	}
	if n := len(list); n > 0 {
		if n == 1 {
			m.Text = join(m.Text, "1 reading differs.")
		} else {
			m.Text = join(m.Text, strconv.Itoa(n)+" readings differ, "+strconv.Itoa(thinner)+" of them thinner than was known.")
		}
		m.More = "The other " + strconv.Itoa(len(m.Rest)) + " readings, with less new loss"
	}
	return m
}

func join(a, b string) string {
	if a == "" {
		return b
	}
	return a + " " + b
}

func surveyName(sv *repair.Survey) string {
	if sv == nil {
		return "No survey"
	}
	return "Survey " + strconv.Itoa(sv.Number)
}

var placeFaces = map[survey.Face]string{survey.Left: "left face", survey.Right: "right face"}

func (e *endReader) readingMoved(c repair.ReadingChange) design.Changed {
	what := "x " + units.Lengths.Figure(float64(c.X), e.sys, 2) + ", z " + units.Lengths.Format(float64(c.Z), e.sys, 2)
	if f := placeFaces[c.Face]; f != "" {
		what += ", " + f
	}
	row := design.Changed{What: what, Was: e.thickness(c.Was), Is: e.thickness(c.Is), Mark: ui.Mark{State: ui.Caution, Text: "changed"}}
	switch t := c.Thinner(); {
	case c.Was == nil:
		row.Mark = ui.Mark{State: ui.Active, Text: "new place"}
	case c.Is == nil:
		row.Mark = ui.Mark{State: ui.Void, Text: "not read again"}
	case t > 0:
		row.Mark = ui.Mark{State: ui.Stop, Text: "thinner"}
		row.By = signed(units.Lengths, -float64(t), e.sys)
	case t < 0:
		row.Mark = ui.Mark{State: ui.Good, Text: "thicker"}
		row.By = signed(units.Lengths, -float64(t), e.sys)
	}
	return row
}

func (e *endReader) thickness(r *survey.Reading) string {
	switch {
	case r == nil:
		return "–"
	case r.NoAccess:
		return "no access"
	}
	return r.T.Format(e.sys, -1)
}

// findingsMoved compares what a survey found apart from its readings.
func (e *endReader) findingsMoved(was, is *survey.Survey) []design.Changed {
	var out []design.Changed
	add := func(what, a, b string) {
		if a != b {
			out = append(out, design.Changed{What: what, Was: a, Is: b, Mark: ui.Mark{State: ui.Caution, Text: "changed"}})
		}
	}
	length := func(l *units.Length) string {
		if l == nil {
			return "not measured"
		}
		return l.Format(e.sys, -1)
	}
	add("Holes through the web", strconv.Itoa(len(was.Holes)), strconv.Itoa(len(is.Holes)))
	add("Bottom flange thickness left", length(was.FlangeThickness), length(is.FlangeThickness))
	add("Stiffener thickness left", length(was.StiffenerThickness), length(is.StiffenerThickness))
	add("Stiffener width left", length(was.StiffenerWidth), length(is.StiffenerWidth))
	add("Web out of plane", was.WebDeviation.Format(e.sys, -1), is.WebDeviation.Format(e.sys, -1))
	add("Web detached from the flange", was.WebDetached.Format(e.sys, -1), is.WebDetached.Format(e.sys, -1))
	return out
}
