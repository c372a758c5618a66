package web

import (
	"encoding/json"
	"fmt"
	"math"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"time"

	"endcast/internal/db"
	"endcast/internal/domain/monitor"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
	"endcast/views/drawing"
	"endcast/views/strain"
	"endcast/views/ui"
)

// traceColumns is to how many columns a picture is thinned; each keeps its extremes.
const traceColumns = 700

// mostTraces is how many channels one page draws.
const mostTraces = 8

// tracePath is the address of a stretch of time. No sensors are all of them.
func (e *endReader) tracePath(sensors []string, from, to int64) string {
	q := url.Values{"a": {strconv.FormatInt(from, 10)}, "b": {strconv.FormatInt(to, 10)}}
	for _, s := range sensors {
		q.Add("s", s)
	}
	return e.path("strain", "trace") + "?" + q.Encode()
}

// jobFile is the file that work reads.
func jobFile(j db.StrainJob) string {
	var ask db.StrainAsk
	if json.Unmarshal(j.Ask, &ask) != nil || ask.Change.FileName == "" {
		return "file"
	}
	return ask.Change.FileName
}

// strainTrace draws a stretch of time, channel by channel.
func (s *Server) strainTrace(w http.ResponseWriter, r *http.Request) error {
	e, err := s.openEnd(r)
	if err != nil {
		return err
	}
	q := r.URL.Query()
	f := &typedForm{values: q, sys: e.sys, zone: e.zone, now: e.now()}
	v := strain.Trace{Head: e.strainHead("trace")}
	list := e.rec.CountedRecordings()
	if len(list) == 0 {
		v.Says = "No strain is on record at this end: there is nothing to draw."
		return s.render(w, r, http.StatusOK, strain.TracePage(e.strainPage("Traces of"), v))
	}
	last := list[len(list)-1]
	passages, err := e.passageTimes(list)
	if err != nil {
		return err
	}
	from, errA := strconv.ParseInt(q.Get("a"), 10, 64)
	to, errB := strconv.ParseInt(q.Get("b"), 10, 64)
	if errA != nil || errB != nil {
		from, to = last.FromAt.UnixNano(), last.ToAt.UnixNano()
		if n := len(passages); n > 0 && last.Lost > 0.5 {
			from, to = passages[n-1]-int64(time.Minute), passages[n-1]+int64(time.Minute) // a logger that sleeps: where it was awake
		}
		if at := f.moment("from"); !at.IsZero() {
			from = at.UnixNano()
			to = from + int64(60e9)
			if n := f.number("minutes", units.Numbers); n != nil && *n > 0 && *n < 1e6 {
				to = from + int64(*n*60e9)
			}
		}
	}
	if to <= from || to-from > int64(20*365*24*time.Hour) {
		to = from + int64(60e9)
	}
	sensors := slices.DeleteFunc(q["s"], func(id string) bool { return id == "" })
	var choices []ui.Option
	for _, x := range e.rec.Sensors {
		if slices.ContainsFunc(list, func(l repair.Recording) bool {
			return slices.ContainsFunc(l.Channels, func(c repair.RecordingChannel) bool { return c.Sensor == x.ID })
		}) {
			choices = append(choices, ui.Option{Value: x.ID, Label: x.Name + ", " + monitor.Kind(x.Kind).String()})
		}
	}
	shown := sensors
	if len(shown) == 0 {
		for _, o := range choices {
			shown = append(shown, o.Value)
		}
	}
	span := to - from
	mid := from + span/2
	v.Moves = []strain.Link{{Text: "Earlier", Href: e.tracePath(sensors, from-span*3/4, to-span*3/4)}, {Text: "Later", Href: e.tracePath(sensors, from+span*3/4, to+span*3/4)},
		{Text: "Closer", Href: e.tracePath(sensors, mid-max(span/8, 5e7), mid+max(span/8, 5e7))}, {Text: "Wider", Href: e.tracePath(sensors, mid-span*2, mid+span*2)},
		{Text: "Whole last recording", Href: e.tracePath(sensors, last.FromAt.UnixNano(), last.ToAt.UnixNano())}}
	const around = int64(5e9)
	if i, _ := slices.BinarySearch(passages, from); i > 0 {
		v.Moves = append(v.Moves, strain.Link{Text: "Passage before", Href: e.tracePath(sensors, passages[i-1]-around, passages[i-1]+around)})
	}
	if i, _ := slices.BinarySearch(passages, to+1); i < len(passages) {
		v.Moves = append(v.Moves, strain.Link{Text: "Passage after", Href: e.tracePath(sensors, passages[i]-around, passages[i]+around)})
	}
	v.Says = fmt.Sprintf("%s, from %s to %s. Every drawn column keeps the lowest and the highest sample of its time: no peak is lost.", spanWords(span), e.second(time.Unix(0, from)), e.second(time.Unix(0, to)))
	for i, id := range shown {
		if i == mostTraces {
			v.Says += fmt.Sprintf(" Of %d channels the first %d are drawn: choose one below.", len(shown), mostTraces)
			break
		}
		p, err := e.trace(r, list, id, from, to)
		if err != nil {
			return err
		}
		v.Pictures = append(v.Pictures, p)
	}
	one := ""
	if len(sensors) == 1 {
		one = sensors[0]
	}
	v.Choose = &strain.Form{Title: "Another stretch of time", Action: e.path("strain", "trace"), Submit: "Draw it", Groups: []strain.Group{{Fields: []ui.Field{
		{Name: "s", Label: "Sensor", Options: append([]ui.Option{{Label: "all"}}, choices...), Value: one, Optional: true},
		{Name: "from", Label: "From", Type: "datetime-local", Value: time.Unix(0, from).In(e.zone).Format("2006-01-02T15:04")},
		{Name: "minutes", Label: "Length", Unit: "min", InputMode: "decimal", Value: strconv.FormatFloat(float64(span)/60e9, 'g', 4, 64), Short: true}}}}}
	return s.render(w, r, http.StatusOK, strain.TracePage(e.strainPage("Traces of"), v))
}

// passageTimes are the peaks of all passages found in recordings, in order.
func (e *endReader) passageTimes(list []repair.Recording) ([]int64, error) {
	found, _, err := e.s.store.FoundPassages(e.r.Context(), e.sc, e.rec)
	if err != nil {
		return nil, err
	}
	var out []int64
	for _, x := range list {
		for _, p := range found[x.ID].Passages {
			out = append(out, p.Web.At)
		}
	}
	slices.Sort(out)
	return out, nil
}

func spanWords(ns int64) string {
	d := time.Duration(ns)
	switch {
	case d < 2*time.Minute:
		return fmt.Sprintf("%.3g seconds", d.Seconds())
	case d < 3*time.Hour:
		return fmt.Sprintf("%.3g minutes", d.Minutes())
	case d < 72*time.Hour:
		return fmt.Sprintf("%.3g hours", d.Hours())
	}
	return fmt.Sprintf("%.3g days", d.Hours()/24)
}

// axis is what time is counted in over a span.
func axis(ns int64) (unit float64, word string) {
	switch d := time.Duration(ns); {
	case d < 5*time.Minute:
		return 1e9, "seconds"
	case d < 5*time.Hour:
		return 60e9, "minutes"
	case d < 96*time.Hour:
		return 3600e9, "hours"
	}
	return 86400e9, "days"
}

// trace draws one sensor over the recordings that it is in.
func (e *endReader) trace(r *http.Request, list []repair.Recording, id string, from, to int64) (strain.Picture, error) {
	x, ok := e.rec.SensorOf(id)
	if !ok {
		return strain.Picture{Title: "Sensor", Says: "This end has no such sensor."}, nil
	}
	kind := monitor.Kind(x.Kind)
	out := strain.Picture{Title: x.Name + ", " + kind.String()}
	conv, err := x.Monitor().Converter(e.sc.Basis())
	if err != nil {
		return out, err
	}
	unit, word := axis(to - from)
	low, high, n := math.Inf(1), math.Inf(-1), 0
	var lowAt, highAt db.TraceColumn
	var points []drawing.Point
	exact := true
	for _, rec := range list {
		c := slices.IndexFunc(rec.Channels, func(k repair.RecordingChannel) bool { return k.Sensor == id })
		if c < 0 || rec.ToAt.UnixNano() < from || rec.FromAt.UnixNano() > to {
			continue
		}
		cols, ex, err := e.s.store.Trace(r.Context(), rec, c, from, to, traceColumns)
		if err != nil {
			return out, err
		}
		exact = exact && ex
		if len(points) > 0 {
			points = append(points, drawing.Parted())
		}
		pause := max(int64(2e9), 4*(to-from)/traceColumns)
		for i, k := range cols {
			a, b := conv.Value(k.Bin.Min), conv.Value(k.Bin.Max)
			a, b = min(a, b), max(a, b)
			if i > 0 && k.From-cols[i-1].To > pause {
				points = append(points, drawing.Parted())
			}
			at := float64(k.From-from) / unit
			points = append(points, drawing.Point{X: at, Y: a})
			if b > a {
				points = append(points, drawing.Point{X: float64(k.To-from) / unit, Y: b})
			}
			if a < low {
				low, lowAt = a, k
			}
			if b > high {
				high, highAt = b, k
			}
			n += k.Bin.N
		}
	}
	if n == 0 {
		out.Says = "Nothing was recorded by this sensor in this time."
		return out, nil
	}
	y, label := units.Numbers, kind.Unit()
	switch {
	case kind == monitor.Displacement:
		y, label = units.Lengths, "displacement"
	case kind == monitor.Thermometer:
		y, label = units.Temperatures, "temperature"
	}
	value := func(v float64) string {
		if y == units.Numbers {
			return fmt.Sprintf("%.2f %s", v, kind.Unit())
		}
		if y == units.Temperatures {
			return y.Format(v, e.sys, 1)
		}
		return y.Format(v, e.sys, 5)
	}
	// A drawn column may span much time: the extreme lies somewhere in it.
	place := func(k db.TraceColumn) strain.Cell {
		text, pad := e.second(time.Unix(0, k.From)), max(int64(5e9), (k.To-k.From)/8)
		if k.To-k.From > 1e9 {
			text = "between " + text + " and " + time.Unix(0, k.To).In(e.zone).Format("15:04:05")
			if k.To-k.From > int64(12*time.Hour) {
				text = "between " + e.second(time.Unix(0, k.From)) + " and " + e.second(time.Unix(0, k.To))
			}
		}
		return strain.Cell{Text: text, Num: true, Href: e.tracePath([]string{id}, k.From-pad, k.To+pad)}
	}
	how := "thinned to its extremes"
	if exact {
		how = "sample by sample"
	}
	out.Says = fmt.Sprintf("From %s to %s, %s samples, drawn %s.", value(low), value(high), grouped(int64(n)), how)
	out.Draw = drawing.Line(drawing.LineData{ID: "t-" + id[len(id)-6:], Title: out.Title, XLabel: word + " after " + e.second(time.Unix(0, from)), YLabel: label, Kind: y, System: e.sys, Height: 260,
		Series: []drawing.Series{{Name: x.Name, Points: points}}})
	out.Table = strain.Table{Caption: "Extremes of " + x.Name, Columns: []ui.Column{{Label: "What"}, {Label: "Value", Numeric: true}, {Label: "Time", Numeric: true}}, Rows: [][]strain.Cell{
		{{Text: "Lowest", Head: true}, {Text: value(low), Num: true}, place(lowAt)},
		{{Text: "Highest", Head: true}, {Text: value(high), Num: true}, place(highAt)}}}
	return out, nil
}

// eventsPerPage is how many passages one page lists.
const eventsPerPage = 100

// foundOf returns the passages of an end. Those that are to be found anew are asked for,
// and waiting says so.
func (e *endReader) foundOf() (found map[string]repair.Found, waiting string, err error) {
	found, stale, err := e.s.store.FoundPassages(e.r.Context(), e.sc, e.rec)
	if err != nil || len(stale) == 0 {
		return found, "", err
	}
	if err := e.s.store.QueueFind(e.r.Context(), e.sc.Program.ID, e.s.user(e.r).ID.String(), e.rec.End.ID, stale); err != nil {
		return nil, "", err
	}
	e.s.wakeStrain()
	return found, fmt.Sprintf("Sensors or settings moved: the passages of %d recordings are being found anew. Load the page again in a while.", len(stale)), nil
}

// strainEvents lists the passages found, newest first.
func (s *Server) strainEvents(w http.ResponseWriter, r *http.Request) error {
	e, err := s.openEnd(r)
	if err != nil {
		return err
	}
	found, waiting, err := e.foundOf()
	if err != nil {
		return err
	}
	v := strain.Events{Head: e.strainHead("events"), Waiting: waiting, Table: strain.Table{Caption: "Passages, newest first", None: "No passage was found.", Columns: []ui.Column{{Label: "Peak at"}, {Label: "State"}, {Label: "Web", Unit: "µε", Numeric: true},
		{Label: "Control", Unit: "µε", Numeric: true}, {Label: "Web over control", Numeric: true}, {Label: "Panel", Unit: "µε", Numeric: true}, {Label: "Stud", Unit: "µε", Numeric: true}, {Label: "Slip", Unit: units.Lengths.Label(e.sys), Numeric: true},
		{Label: "Temperature", Unit: units.Temperatures.Label(e.sys), Numeric: true}, {Label: "Length", Unit: "s", Numeric: true}, {Label: "Use"}}}}
	var all []monitor.Passage
	refused := 0
	for _, f := range found {
		all = append(all, f.Passages...)
		for _, x := range f.Stretches {
			if x.Refused {
				refused++
			}
		}
	}
	slices.SortFunc(all, func(a, b monitor.Passage) int { return int(min(max(b.Web.At-a.Web.At, -1), 1)) })
	cast := int64(0)
	if at := e.rec.CastAt(e.sc); !at.IsZero() {
		cast = at.UnixNano()
	}
	usable := 0
	for _, p := range all {
		if p.Web.Flag == monitor.Usable {
			usable++
		}
	}
	v.Says = fmt.Sprintf("%d passages on the web, %d of them usable.", len(all), usable)
	if refused > 0 {
		v.Says += fmt.Sprintf(" %d stretches hold too much traffic for the baseline and are not used.", refused)
	}
	page, _ := strconv.Atoi(r.URL.Query().Get("page"))
	page = max(page, 1)
	from := min((page-1)*eventsPerPage, len(all))
	to := min(from+eventsPerPage, len(all))
	for _, p := range all[from:to] {
		mark := ui.Mark{State: ui.Good, Text: "counts"}
		if p.Web.Flag != monitor.Usable {
			mark = ui.Mark{State: ui.Void, Text: p.Web.Flag.String()}
		}
		slip, temp := "–", "–"
		if p.Slip == p.Slip {
			slip = units.Lengths.Figure(p.Slip, e.sys, 4)
		}
		if p.Temperature == p.Temperature {
			temp = units.Temperatures.Figure(p.Temperature, e.sys, 1)
		}
		v.Table.Rows = append(v.Table.Rows, []strain.Cell{{Text: time.Unix(0, p.Web.At).In(e.zone).Format("2006-01-02 15:04:05.00"), Head: true, Num: true, Href: e.tracePath(nil, p.Web.From-4e9, p.Web.To+4e9)},
			{Text: monitor.StateAt(e.sc.Basis(), cast, p.Web.At).String()}, {Text: decimalText(p.Web.Peak, 1), Num: true}, {Text: decimalText(p.Control, 1), Num: true}, {Text: decimalText(p.Ratio, 3), Num: true}, {Text: decimalText(p.Panel, 1), Num: true},
			{Text: decimalText(p.Stud, 1), Num: true}, {Text: slip, Num: true}, {Text: temp, Num: true}, {Text: decimalText(p.Web.Seconds(), 2), Num: true}, {Mark: &mark}})
	}
	if len(all) > eventsPerPage {
		pg := &ui.PagerView{From: from + 1, To: to, Total: len(all)}
		if page > 1 {
			pg.Prev = e.path("strain", "events") + "?page=" + strconv.Itoa(page-1)
		}
		if to < len(all) {
			pg.Next = e.path("strain", "events") + "?page=" + strconv.Itoa(page+1)
		}
		v.Pager = pg
	}
	return s.render(w, r, http.StatusOK, strain.EventsPage(e.strainPage("Passages at"), v))
}
