package web

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"time"

	"github.com/go-chi/chi/v5"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/basis"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/logfile"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/uhpc"
	"endcast/internal/domain/units"
	"endcast/views/casting"
	"endcast/views/drawing"
	"endcast/views/ui"
)

// handRows is how many readings the form by hand takes at once.
const handRows = 12

// curingShow is the page of how the concrete of a pour hardened.
func (s *Server) curingShow(w http.ResponseWriter, r *http.Request) error {
	c, err := s.openPour(r)
	if err != nil {
		return err
	}
	return s.curingPage(w, r, http.StatusOK, c, url.Values{}, nil, "")
}

// mayCure tells whether the reader may record how concrete hardened.
func (s *Server) mayCure(r *http.Request) bool {
	v := visitOf(r.Context())
	return v.program != nil && authz.MayAtSomeStep(v.person, v.program.ID, authz.RecordCuring)
}

// curingPath is an address of the curing of the pour.
func (c *pourReader) curingPath(parts ...string) string {
	return c.head.Path(append([]string{"pours", strconv.Itoa(c.pour.Number), "curing"}, parts...)...)
}

// curingPage renders the page with what was typed in one of its forms.
func (s *Server) curingPage(w http.ResponseWriter, r *http.Request, status int, c *pourReader, typed url.Values, bad *fault.Invalid, refused string) error {
	v := casting.Curing{Number: strconv.Itoa(c.pour.Number), When: c.span(c.pour), Zone: c.zoneNote(), Pour: c.head.Path("pours", strconv.Itoa(c.pour.Number)), Action: c.curingPath(),
		May: s.mayCure(r), Refused: refused, Bad: bad, TempUnit: units.Temperatures.Label(c.sys)}
	series, err := c.readLogs(r.Context())
	if err != nil {
		return err
	}
	curve, err := s.programCurve(r.Context(), c.head.ID.String(), c.basis)
	if err != nil {
		return err
	}
	q := c.askedOf(r.URL.Query())
	c.curingRecord(&v, series, curve, q)
	if v.Beside, err = c.strengthSensors(r.Context(), series, curve, q); err != nil {
		return err
	}
	for _, pe := range c.list.PourEnds {
		name := c.list.EndNames[pe.EndID]
		e := casting.CuringEnd{Name: name, Href: c.head.Path("ends", name), Cured: "not said yet", By: pe.CuredBy, Note: pe.CuredNote}
		if pe.CuredAt != nil {
			e.Cured = c.day(*pe.CuredAt)
		}
		v.Ends = append(v.Ends, e)
	}
	slices.SortFunc(v.Ends, func(a, b casting.CuringEnd) int { return compareNames(a.Name, b.Name) })
	if v.May {
		waiting, err := s.store.LoggerDrafts(r.Context(), c.head.ID.String(), s.user(r).ID.String(), c.pour.Number)
		if err != nil {
			return err
		}
		for _, d := range waiting {
			v.Waiting = append(v.Waiting, casting.Waiting{Name: d.Name, Href: c.curingPath("file", d.ID), Sent: c.clock(d.At, c.now), Size: logfile.Size(d.Size)})
		}
		v.File = casting.CuringFileForm{Limit: fmt.Sprintf("%g MB", c.basis.Value(basis.LoggerFileSize))}
		if x := bad.Of("file"); x != nil {
			v.File.Why = x.Reason
		}
		v.Hand, v.End = c.handForm(typed, bad), c.endForm(typed, bad)
	}
	p := s.page(r, "Curing of pour "+v.Number, ui.Crumb{Label: "Bridge", Href: c.head.Path()}, ui.Crumb{Label: "Pours", Href: c.head.Path("pours")}, ui.Crumb{Label: "Pour " + v.Number, Href: v.Pour})
	p.Block = c.block()
	return s.render(w, r, status, casting.CuringPage(p, v))
}

// curingDone answers a change of the curing record: back to the page, or the form
// again with what was wrong.
func (s *Server) curingDone(w http.ResponseWriter, r *http.Request, c *pourReader, change repair.Change, rename map[string]string, done string) error {
	rec, err := s.edit(r, nil, time.Time{}, change)
	var invalid *fault.Invalid
	switch {
	case errors.As(err, &invalid):
		bad := &fault.Invalid{}
		for _, f := range invalid.Fields {
			if n, ok := rename[f.Field]; ok {
				f.Field = n
			}
			bad.Fields = append(bad.Fields, f)
		}
		return s.curingPage(w, r, http.StatusUnprocessableEntity, c, r.PostForm, bad, "")
	case fault.KindOf(err) == fault.Refused || fault.KindOf(err) == fault.Duplicate || fault.KindOf(err) == fault.TooLarge:
		return s.curingPage(w, r, http.StatusUnprocessableEntity, c, r.PostForm, nil, ui.Sentence(fault.Message(err)))
	case err != nil:
		return err
	}
	if !rec.Repeated {
		s.flash(r, ui.Done, done)
	}
	return seeOther(w, r, c.curingPath())
}

// drawnBuckets is how many stretches of time a log is thinned to for the drawing.
const drawnBuckets = 500

// logSeries is a log with what walking over its readings once gave.
type logSeries struct {
	log    repair.CuringLog
	result uhpc.CuringResult
	thin   *logfile.Thin
	gaps   []readingGap
	counts int // gaps in all
}

type readingGap struct{ from, to time.Time }

const mostGaps = 50

// readLogs walks over the readings of every log once, in constant memory.
func (c *pourReader) readLogs(ctx context.Context) ([]logSeries, error) {
	low := time.Duration(c.basis.Value(basis.CuringGapLow) * float64(time.Hour))
	var out []logSeries
	for _, l := range c.list.CuringLogs {
		x := logSeries{log: l}
		if l.WithdrawnAt == nil && l.FirstAt != nil && l.LastAt != nil {
			a := uhpc.NewAccumulator(l.CoveredAt, c.basis)
			x.thin = logfile.NewThin(*l.FirstAt, *l.LastAt, drawnBuckets, low)
			last := l.CoveredAt
			err := c.s.store.StreamReadings(ctx, l.ID, func(t uhpc.Temperature) error {
				if t.At.Sub(last) > low {
					if x.counts++; len(x.gaps) < mostGaps {
						x.gaps = append(x.gaps, readingGap{last, t.At})
					}
				}
				last = t.At
				x.thin.Add(t.At, float64(t.Value))
				return a.Add(t.At, t.Value)
			})
			if err != nil {
				return nil, err
			}
			x.result = a.Result(c.basis)
		}
		out = append(out, x)
	}
	return out, nil
}

// hours is a time on the axis of the drawing.
func (c *pourReader) hours(t time.Time) float64 { return t.Sub(c.pour.StartedAt).Hours() }

// curingRecord fills the page with what is on record.
func (c *pourReader) curingRecord(v *casting.Curing, series []logSeries, pc programCurve, q asked) {
	chart := &drawing.TemperatureData{ID: "curing", System: c.sys}
	for _, m := range uhpc.Methods(c.basis) {
		v.Methods = append(v.Methods, casting.CuringMethod{Name: sentenceCase(m.Name), Formula: m.Formula, Words: m.Words, Source: m.Source + " (" + string(m.Tag) + ")"})
	}
	curve := c.curveOf(pc)
	v.AtCuring = units.Temperatures.Format(float64(curve.Curing), c.sys, -1)
	hot, cold, any := units.Temperature(0), units.Temperature(0), false
	for _, x := range series {
		v.Logs = append(v.Logs, c.logRow(x))
		if x.thin == nil {
			continue
		}
		line := drawing.TemperatureLine{Name: x.log.Sensor}
		for i, part := range x.thin.Lines() {
			if i > 0 {
				line.Points = append(line.Points, drawing.Parted())
			}
			for _, p := range part {
				line.Points = append(line.Points, drawing.Point{X: c.hours(p.At), Y: p.Value})
			}
		}
		chart.Lines = append(chart.Lines, line)
		for _, g := range x.gaps {
			chart.Gaps = append(chart.Gaps, drawing.HourSpan{From: c.hours(g.from), To: c.hours(g.to), Text: logfile.Span(g.to.Sub(g.from).Round(time.Minute))})
			v.Gaps = append(v.Gaps, c.gapRow(x, g))
		}
		if inConcrete(x.log) {
			if !any || x.result.Hottest > hot {
				hot = x.result.Hottest
			}
			if !any || x.result.Coldest < cold {
				cold = x.result.Coldest
			}
			any = true
			row := casting.CuringMaturity{Sensor: x.log.Sensor}
			ages := x.result.Maturity.AgesAt(curve.Curing, c.basis)
			for i, m := range uhpc.Methods(c.basis) {
				row.Sums = append(row.Sums, m.Kind.Format(x.result.Maturity[i], c.sys, 1))
				row.Ages = append(row.Ages, ageText(ages[i]))
			}
			v.Sensors = append(v.Sensors, row)
		}
	}
	if len(chart.Lines) == 0 {
		return
	}
	for _, l := range []struct {
		key  basis.Key
		word string
	}{{basis.CuringCold, "at least"}, {basis.CuringHot, "hot"}, {basis.CuringStop, "stop"}} {
		t := c.basis.Value(l.key)
		chart.Levels = append(chart.Levels, drawing.Rule{At: t, Text: l.word + " " + units.Temperatures.Format(t, c.sys, -1)})
	}
	if c.pour.EndedAt != nil {
		chart.Marks = append(chart.Marks, drawing.Rule{At: c.hours(*c.pour.EndedAt), Text: "placed"})
	}
	seen := map[time.Time]bool{}
	for _, pe := range c.list.PourEnds {
		if pe.CuredAt != nil && !seen[*pe.CuredAt] {
			seen[*pe.CuredAt] = true
			chart.Marks = append(chart.Marks, drawing.Rule{At: c.hours(*pe.CuredAt), Text: "curing ended"})
		}
	}
	v.Chart = chart
	if any {
		v.Summary = fmt.Sprintf("The concrete was between %s and %s warm.", units.Temperatures.Format(float64(cold), c.sys, 1), units.Temperatures.Format(float64(hot), c.sys, 1))
		switch n := len(v.Gaps); {
		case n == 1:
			v.Summary += " There is one gap in the record."
		case n > 1:
			v.Summary += fmt.Sprintf(" There are %d gaps in the record.", n)
		default:
			v.Summary += " There is no gap in the record."
		}
	} else {
		v.Summary = "No sensor on record lies in the concrete."
	}
	v.Forecast = c.forecast(series, pc, q)
}

func inConcrete(l repair.CuringLog) bool { return l.Place != "air" && l.Place != "specimen" }

// placesWords are the places of sensors in words.
var placesWords = []ui.Option{{Value: "coldest", Label: "coldest point of the concrete"}, {Value: "core", Label: "core of the concrete"}, {Value: "form", Label: "concrete at the form"},
	{Value: "air", Label: "air beside the form"}, {Value: "specimen", Label: "specimens"}}

func labelOf(options []ui.Option, value string) string {
	for _, o := range options {
		if o.Value == value {
			return o.Label
		}
	}
	return value
}

func (c *pourReader) logRow(x logSeries) casting.CuringLog {
	l := x.log
	row := casting.CuringLog{ID: l.ID, Sensor: l.Sensor, Place: labelOf(placesWords, l.Place), Ends: "every end", Covered: c.day(l.CoveredAt), Readings: strconv.Itoa(l.Rows), From: "by hand, " + l.ByName,
		Coldest: units.Temperatures.Figure(float64(l.Coldest), c.sys, 1), Hottest: units.Temperatures.Figure(float64(l.Hottest), c.sys, 1),
		LongestGap: logfile.Span(time.Duration(l.LongestGapH * float64(time.Hour)).Round(time.Second)), Note: l.Note, Mark: ui.Mark{State: ui.Good, Text: "within the limits"}}
	if l.EndID != nil {
		row.Ends = c.list.EndNames[*l.EndID]
	}
	if l.FirstAt != nil && l.LastAt != nil {
		row.First, row.Last = c.day(*l.FirstAt), c.day(*l.LastAt)
	}
	if l.Kind == "file" {
		row.From, row.FromHref = l.FileName, c.curingPath("log", l.ID)
	}
	if l.WithdrawnAt != nil {
		row.Mark = ui.Mark{State: ui.Void, Text: "withdrawn"}
		row.Withdrawn = l.WithdrawnWhy + " (" + l.WithdrawnBy + ", " + c.day(*l.WithdrawnAt) + ")"
		return row
	}
	if !inConcrete(l) {
		row.Mark = ui.Mark{State: ui.Void, Text: "not concrete"}
		return row
	}
	row.Findings = c.findingLines("", x.result.Findings)
	switch {
	case uhpc.Stopped(x.result.Findings):
		row.Mark = ui.Mark{State: ui.Stop, Text: "outside a limit"}
	case len(x.result.Findings) > 0:
		row.Mark = ui.Mark{State: ui.Caution, Text: "see"}
	}
	return row
}

func (c *pourReader) gapRow(x logSeries, g readingGap) casting.CuringGap {
	length := g.to.Sub(g.from)
	row := casting.CuringGap{Sensor: x.log.Sensor, From: c.day(g.from), To: c.day(g.to), Length: logfile.Span(length.Round(time.Minute)), Counts: "by the lower of its two ends"}
	switch {
	case g.from.Equal(x.log.CoveredAt):
		row.Counts = "nothing: what came before the first reading is not known"
	case length.Hours() > c.basis.Value(basis.CuringGapVoid):
		row.Counts = "nothing, and the maturity stands still from here on"
	}
	return row
}

// loggerLimit is the largest file of a logger that the program takes.
func (c *castReader) loggerLimit() int64 { return int64(c.basis.Value(basis.LoggerFileSize) * 1e6) }

// asked is what the reader asks of the forecast beyond the record: the temperature
// ahead, by hand.
type asked struct {
	ahead *float64
	field ui.Field
}

// askedOf reads the address. What cannot be read is said beside the box, and the
// forecast goes by the record as without it.
func (c *pourReader) askedOf(q url.Values) asked {
	a := asked{field: ui.Field{Name: "ahead", Label: "Temperature of the concrete from now on", Unit: units.Temperatures.Label(c.sys), Value: q.Get("ahead"), Optional: true,
		Hint: "Left empty, the last reading or the setting of the design basis, whichever is lower. It is not stored."}}
	bad := &fault.Invalid{}
	a.ahead = c.quantity(bad, "ahead", q.Get("ahead"), units.Temperatures)
	if a.ahead != nil && !(*a.ahead >= -20 && *a.ahead <= 95) {
		bad.Add("ahead", q.Get("ahead"), "temperature ahead must be from %s to %s, got %s", units.Temperatures.Format(-20, c.sys, 0), units.Temperatures.Format(95, c.sys, 0), q.Get("ahead"))
		a.ahead = nil
	}
	a.field = a.field.With(bad)
	return a
}

// foreseen is the forecast of the casting by the sensor that is furthest behind, nil
// where none lies in the concrete.
func (c *pourReader) foreseen(series []logSeries, pc programCurve, q asked) (*logSeries, uhpc.Forecast) {
	var governing *logSeries
	for i := range series {
		x := &series[i]
		if x.thin == nil || !inConcrete(x.log) {
			continue
		}
		if governing == nil || x.result.Maturity[uhpc.Equivalent] < governing.result.Maturity[uhpc.Equivalent] {
			governing = x
		}
	}
	cast := c.pour.StartedAt
	if c.pour.EndedAt != nil {
		cast = *c.pour.EndedAt
	}
	var so *uhpc.CuringResult
	if governing != nil {
		so = &governing.result
	}
	var ahead []uhpc.Ahead
	if q.ahead != nil {
		ahead = []uhpc.Ahead{{Temperature: units.Temperature(*q.ahead)}}
	}
	return governing, uhpc.NewForecast(c.curveOf(pc), cast, so, ahead, c.basis)
}

// forecast is the strength to expect by the sensor that is furthest behind.
func (c *pourReader) forecast(series []logSeries, pc programCurve, q asked) *casting.CuringForecast {
	governing, f := c.foreseen(series, pc, q)
	if governing == nil {
		return nil
	}
	curve := f.Curve
	v := &casting.CuringForecast{Sensor: governing.log.Sensor, Curve: ui.Sentence(curve.Words), CurveHref: c.head.Path("strength-curve"), Ahead: ui.Sentence(f.Words), Refused: f.Refused(),
		Action: c.curingPath(), AheadBox: q.field, Which: "By the curve of the design basis: this program has none of its own yet."}
	if _, own := pc.fit.Strengthening(c.basis); own {
		v.Which = fmt.Sprintf("By the program's own curve, fitted to %s.", counted(len(pc.fit.Points), "set", "sets"))
	}
	if v.Refused != "" {
		return v
	}
	now := f.At(governing.result.Until)
	v.Now = fmt.Sprintf("At its last reading, %s, %s is to be expected (band %s to %s).", c.day(governing.result.Until), c.strength(now.Value), c.strength(now.Low), c.strength(now.High))
	for _, l := range []struct {
		key  basis.Key
		what string
		gate bool
	}{{basis.StripStrength, "stripping the form", true}, {basis.TrafficStrength, "return to traffic", true}, {basis.FinalStrength, "the strength specified", false}} {
		limit := units.Stress(c.basis.Value(l.key))
		x := f.Reaches(limit)
		v.Lines = append(v.Lines, casting.ForecastLine{Limit: c.strength(limit), What: l.what, Early: c.crossing(x.Early), Expected: c.crossing(x.Expected), Cautious: c.crossing(x.Cautious)})
		if l.gate {
			v.Next = append(v.Next, c.nextBreak(f.NextBreak(limit, c.now), limit, l.what))
		}
	}
	return v
}

// nextBreak says after how many hours a set is best broken for a gate.
func (c *pourReader) nextBreak(n uhpc.NextBreak, limit units.Stress, what string) string {
	if n.At.IsZero() {
		return fmt.Sprintf("For %s, %s: %s.", what, c.strength(limit), n.Words)
	}
	age := fmt.Sprintf("%.0f h", n.Hours)
	if n.Hours >= 48 {
		age += " (" + ageText(n.Hours) + ")"
	}
	return fmt.Sprintf("For %s, %s: break the next set %s after casting, %s. %s", what, c.strength(limit), age, c.day(n.At), ui.Sentence(n.Words))
}

// curveOf is the curve that forecasts go by: the program's own where one is kept.
func (c *castReader) curveOf(pc programCurve) uhpc.Strengthening {
	return pc.curveFor(units.Stress(c.basis.Value(basis.FinalStrength)), c.basis)
}

func (c *pourReader) crossing(x uhpc.Crossing) string {
	if x.At.IsZero() {
		return x.Words()
	}
	return c.day(x.At) + ", " + x.Words()
}

// curingLogFile sends the file of a log as it came.
func (s *Server) curingLogFile(w http.ResponseWriter, r *http.Request) error {
	c, err := s.openPour(r)
	if err != nil {
		return err
	}
	id := chi.URLParam(r, "log")
	i := slices.IndexFunc(c.list.CuringLogs, func(l repair.CuringLog) bool { return l.ID == id && l.Kind == "file" })
	if i < 0 {
		return fault.New(fault.NotFound, "this pour has no such file")
	}
	l := c.list.CuringLogs[i]
	h := w.Header()
	h.Set("Content-Type", "application/octet-stream")
	h.Set("Content-Security-Policy", "sandbox")
	h.Set("Content-Disposition", "attachment; filename*=UTF-8''"+url.PathEscape(l.FileName))
	return s.store.RawFile(r.Context(), l.SHA256, w)
}
