package web

import (
	"errors"
	"io"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"time"

	"github.com/go-chi/chi/v5"

	"endcast/internal/db"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/logfile"
	"endcast/internal/domain/monitor"
	"endcast/internal/domain/repair"
	"endcast/views/strain"
	"endcast/views/ui"
)

// strainBody is the largest request that brings a file of strain; strainLimit is the
// file in it, and strainUnpacked what a packed one may hold. They guard the disk.
const (
	strainLimit    = int64(1_100e6)
	strainBody     = strainLimit + 1e6
	strainUnpacked = int64(4_000e6)
	strainUpload   = 30 * time.Minute // for a file to come in over a slow line
)

// strainUpload keeps a file until it is confirmed how it is read.
func (s *Server) strainUpload(w http.ResponseWriter, r *http.Request) error {
	e, err := s.openEnd(r)
	if err != nil {
		return err
	}
	again := func(why string) error { return e.recordingsPage(w, http.StatusUnprocessableEntity, why) }
	// A gigabyte over a slow line takes longer than other requests may.
	_ = http.NewResponseController(w).SetReadDeadline(time.Now().Add(strainUpload))
	_ = http.NewResponseController(w).SetWriteDeadline(time.Now().Add(strainUpload))
	r.Body = http.MaxBytesReader(w, r.Body, strainBody)
	if err := parseForm(r); err != nil {
		if fault.KindOf(err) != fault.TooLarge {
			return err
		}
		return again("the file is larger than the " + logfile.Size(strainLimit) + " that are taken")
	}
	if r.MultipartForm != nil {
		defer func() { _ = r.MultipartForm.RemoveAll() }()
	}
	f, head, err := r.FormFile("file")
	switch {
	case errors.Is(err, http.ErrMissingFile) || errors.Is(err, http.ErrNotMultipart):
		return again("choose a file")
	case err != nil:
		return asTooLarge(err)
	}
	defer f.Close()
	start, err := firstBytes(head.Filename, f, head.Size, logfile.Limits{Bytes: strainUnpacked})
	if err == nil {
		_, _, err = logfile.Guess(start)
	}
	if err != nil {
		if k := fault.KindOf(err); k != fault.Refused && k != fault.TooLarge {
			return err
		}
		return again(fault.Message(err))
	}
	if _, err := f.Seek(0, io.SeekStart); err != nil {
		return err
	}
	d, err := s.store.KeepStrainDraft(r.Context(), e.sc.Program.ID, s.user(r).ID.String(), e.rec.End.ID, plainName(head.Filename), f)
	if err != nil {
		return err
	}
	return seeOther(w, r, e.path("strain", "recordings", "file", d.ID))
}

// strainDraft is a file that waits, with how it would be read.
type strainDraft struct {
	e      *endReader
	d      db.LoggerDraft
	head   []byte
	m      logfile.Map
	doubts []logfile.Doubt
	typed  bool
	form   *typedForm
	units  []string // of each column, as chosen; "?" not yet
	who    []string // sensor of each column, by identifier
	rate   float64
	rows   []logfile.Row
}

func (s *Server) openStrainDraft(e *endReader, values url.Values) (*strainDraft, error) {
	d, err := s.store.LoggerDraft(e.r.Context(), e.sc.Program.ID, s.user(e.r).ID.String(), chi.URLParam(e.r, "draft"))
	if err != nil {
		return nil, err
	}
	if d.EndID != e.rec.End.ID {
		return nil, fault.New(fault.NotFound, "this file was sent for another end")
	}
	f := &strainDraft{e: e, d: d, form: &typedForm{values: values, sys: e.sys, zone: e.zone, now: e.now()}}
	if f.head, err = firstBytes(d.Name, s.store.OpenLoggerDraft(e.r.Context(), d), d.Size, logfile.Limits{Bytes: strainUnpacked}); err != nil {
		return nil, err
	}
	if f.m, f.doubts, err = logfile.Guess(f.head); err != nil {
		return nil, err
	}
	known := false
	for _, l := range e.sc.LoggerMaps {
		if m, ok := mapTyped(l.Map); ok && l.Name == values.Get("known") {
			start := f.m.Clock.Start
			f.m, f.doubts, known = m, nil, true
			f.m.Clock.Start = start
		}
	}
	for _, c := range f.m.Values {
		who, unit := "", c.Unit
		for _, x := range e.rec.Sensors {
			if x.RemovedAt == nil && strings.EqualFold(strings.TrimSpace(x.Channel), strings.TrimSpace(c.Name)) {
				who = x.ID
			}
		}
		if !known && unit == "" {
			unit = "?"
		}
		f.who, f.units = append(f.who, who), append(f.units, unit)
	}
	if f.typed = values.Has("separator"); f.typed {
		f.read()
	}
	return f, nil
}

// read takes the answers of the form over the guess.
func (f *strainDraft) read() {
	t, m := f.form, &f.m
	whole := func(field string) int {
		n, err := strconv.Atoi(t.text(field))
		if t.text(field) != "" && err != nil {
			t.bad.Add(field, t.text(field), "must be a whole number")
		}
		return n
	}
	m.Separator, m.Decimal, m.Encoding, m.Header = separatorOf(t.values.Get("separator")), t.text("decimal"), t.text("encoding"), whole("header")
	m.Names, m.Units = min(m.Names, m.Header), min(m.Units, m.Header)
	m.Clock = logfile.Clock{Kind: t.text("kind"), Index: whole("time_column"), Time: whole("day_column"), Order: t.text("order"), Zone: t.text("zone")}
	if m.Clock.Kind == logfile.Counted {
		m.Clock.Index, m.Clock.Time = 0, 0
	}
	if at := t.moment("start"); !at.IsZero() {
		m.Clock.Start = &at
	}
	if v := t.text("every"); v != "" {
		var err error
		if m.Clock.Every, err = strconv.ParseFloat(v, 64); err != nil {
			t.bad.Add("every", v, "must be a number of seconds")
		}
	}
	m.NoReading = nil
	for _, w := range strings.FieldsFunc(t.text("none"), func(r rune) bool { return r == ';' }) {
		if w = strings.TrimSpace(w); w != "" {
			m.NoReading = append(m.NoReading, w)
		}
	}
	var kept []logfile.Column
	var who, chosen []string
	for _, c := range m.Values {
		n := strconv.Itoa(c.Index)
		id, unit := t.text("sensor-"+n), t.text("unit-"+n)
		if !t.values.Has("sensor-" + n) {
			continue
		}
		kept, who, chosen = append(kept, c), append(who, id), append(chosen, unit)
		if id == "" {
			continue
		}
		x, ok := f.e.rec.SensorOf(id)
		switch {
		case !ok:
			t.bad.Add("sensor-"+n, id, "this end has no such sensor")
		case unit == "?" || unit == "":
			t.bad.Add("unit-"+n, unit, "the file does not say in what unit column %s, %s is; say it", n, c.Name)
		case !unitFits(x, unit):
			t.bad.Add("unit-"+n, unit, "column %s is of %s, a %s: it cannot be in %s", n, x.Name, monitor.Kind(x.Kind), labelOf(unitOptions, unit))
		}
	}
	m.Values, f.who, f.units = kept, who, chosen
	for _, d := range f.doubts {
		if d.Field == "clock.zone" && m.Clock.Zone == "" && (m.Clock.Kind == logfile.Dates || m.Clock.Kind == logfile.Serial) {
			t.bad.Add("zone", "", "the times carry no offset: name the zone of the logger's clock")
		}
	}
	if v := t.text("rate"); v != "" {
		var err error
		if f.rate, err = strconv.ParseFloat(v, 64); err != nil || !(f.rate > 0) {
			t.bad.Add("rate", v, "must be a number of rows a second")
		}
	}
}

// asWritten is the choice of a column without a unit.
const asWritten = "plain"

var unitOptions = func() []ui.Option {
	out := []ui.Option{{Value: "?", Label: "choose"}}
	for _, u := range logfile.Units() {
		name := u.Name
		if name == "" {
			name = asWritten
		}
		out = append(out, ui.Option{Value: name, Label: u.Label})
	}
	return out
}()

// unitFits tells whether a sensor can have written a column in a unit.
func unitFits(x repair.Sensor, unit string) bool {
	if unit == asWritten {
		return x.Input != string(monitor.Engineering) || monitor.Kind(x.Kind) == monitor.Accelerometer || monitor.Kind(x.Kind) == monitor.StrengthSensor
	}
	u, ok := logfile.UnitNamed(unit)
	if !ok || x.Input != string(monitor.Engineering) {
		return false
	}
	k := monitor.Kind(x.Kind)
	switch u.Quantity {
	case logfile.Strain:
		return k.Strain()
	case logfile.Displacement:
		return k == monitor.Displacement
	case logfile.Temperature:
		return k == monitor.Thermometer
	case logfile.Stress:
		return k == monitor.StrengthSensor
	}
	return false
}

// chosen is the map with the columns that a sensor wrote, and those sensors.
func (f *strainDraft) chosen() (logfile.Map, []repair.RecordingChannel) {
	m := f.m
	m.Values = nil
	var out []repair.RecordingChannel
	for i, c := range f.m.Values {
		x, ok := f.e.rec.SensorOf(f.who[i])
		if !ok {
			continue
		}
		if c.Unit = f.units[i]; c.Unit == asWritten || c.Unit == "?" {
			c.Unit = ""
		}
		m.Values = append(m.Values, c)
		out = append(out, repair.RecordingChannel{Sensor: x.ID, Name: x.Name, Column: c.Index, Title: c.Name})
	}
	return m, out
}

// look reads the first rows as they would be read, and the rate of the file from them.
func (f *strainDraft) look() error {
	m, channels := f.chosen()
	if len(channels) == 0 {
		f.form.bad.Add("channels", "", "say of at least one column which sensor wrote it")
		return nil
	}
	if err := m.Validate(); err != nil {
		var inv *fault.Invalid
		if errors.As(err, &inv) {
			for _, x := range inv.Fields {
				if n := mapFields[x.Field]; n != "" && n != "column" && n != "unit" {
					x.Field = n
				}
				f.form.bad.Fields = append(f.form.bad.Fields, x)
			}
			return nil
		}
		return err
	}
	rules, err := db.StrainRules(f.e.sc.Basis(), m, nil)
	if err != nil {
		f.form.merge(err)
		return nil
	}
	rows, err := logfile.Preview(f.head, m, rules, 400)
	f.rows = rows
	if f.rate == 0 && len(rows) > 2 {
		times := make([]int64, len(rows))
		for i, r := range rows {
			times[i] = r.At.UnixNano()
		}
		f.rate = monitor.GuessRate(times)
	}
	return err
}

// strainFile shows how a file would be read.
func (s *Server) strainFile(w http.ResponseWriter, r *http.Request) error {
	e, err := s.openEnd(r)
	if err != nil {
		return err
	}
	f, err := s.openStrainDraft(e, r.URL.Query())
	if err != nil {
		return err
	}
	return f.page(w, http.StatusOK, "", "")
}

// strainFileRead shows the first rows, asks for the file to be read, or lets go of it.
func (s *Server) strainFileRead(w http.ResponseWriter, r *http.Request) error {
	e, err := s.openEnd(r)
	if err != nil {
		return err
	}
	if err := parseForm(r); err != nil {
		return err
	}
	v := r.PostForm
	if v.Get("act") == "discard" {
		if err := s.store.DropLoggerDraft(r.Context(), e.sc.Program.ID, s.user(r).ID.String(), chi.URLParam(r, "draft")); err != nil {
			return err
		}
		s.flash(r, ui.Notice, "The file is discarded. Nothing was stored.")
		return seeOther(w, r, e.path("strain", "recordings"))
	}
	f, err := s.openStrainDraft(e, v)
	if err != nil {
		return err
	}
	if !f.typed {
		return fault.New(fault.Malformed, "the form does not say how the file is read: load the page again")
	}
	if v.Get("act") != "read" {
		return f.page(w, http.StatusOK, "", v.Get("entry"))
	}
	problem := f.look()
	var p *logfile.Problem
	switch {
	case errors.As(problem, &p):
		return f.page(w, http.StatusUnprocessableEntity, p.Error(), v.Get("entry"))
	case problem != nil:
		return problem
	case len(f.form.bad.Fields) > 0:
		return f.page(w, http.StatusUnprocessableEntity, "", v.Get("entry"))
	}
	m, channels := f.chosen()
	typed, err := typedMap(m, nil)
	if err != nil {
		return err
	}
	id, err := entry(r)
	if err != nil {
		return err
	}
	ch := repair.RecordStrain{Logger: f.form.text("logger"), FileName: f.d.Name, SHA256: f.d.SHA256, Size: f.d.Size, Map: typed, Rate: f.rate, Channels: channels, Note: f.form.text("note"), Remember: f.form.text("remember")}
	if err := ch.Check(e.rec, e.now()); err != nil {
		f.form.merge(err)
		return f.page(w, http.StatusUnprocessableEntity, "", v.Get("entry"))
	}
	job, err := s.store.QueueImport(r.Context(), e.sc.Program.ID, s.user(r).ID.String(), f.d, db.StrainAsk{Entry: id.String(), Actor: s.actor(r), Change: ch, Map: m, Unpacked: strainUnpacked})
	if err != nil {
		return err
	}
	s.wakeStrain()
	return seeOther(w, r, e.path("strain", "recordings", "job", job))
}

func (f *strainDraft) page(w http.ResponseWriter, status int, problem, entry string) error {
	e := f.e
	if problem == "" && f.typed && len(f.form.bad.Fields) == 0 {
		err := f.look()
		var p *logfile.Problem
		switch {
		case errors.As(err, &p):
			problem, status = p.Error(), http.StatusUnprocessableEntity
		case err != nil:
			return err
		}
	} else if !f.typed {
		_ = f.look()
		f.form.bad.Fields = nil // nobody answered yet
	}
	if len(f.form.bad.Fields) > 0 {
		status = http.StatusUnprocessableEntity
	}
	v := strain.File{Head: e.strainHead("recordings"), Name: f.d.Name, Problem: problem, Facts: [][2]string{{"Size", logfile.Size(f.d.Size)}, {"Sent", e.when(f.d.At)}, {"SHA-256", shortDigest(f.d.SHA256)}},
		Cells: logfile.Cells(f.head, f.m, 8)}
	v.Head.Bad, v.Head.Entry = &f.form.bad, entry
	for _, r := range v.Cells {
		v.Widths = max(v.Widths, len(r))
	}
	for _, l := range e.sc.LoggerMaps {
		if _, ok := mapTyped(l.Map); ok {
			v.Known = append(v.Known, strain.Link{Text: "Read it as " + l.Name, Href: e.path("strain", "recordings", "file", f.d.ID) + "?known=" + url.QueryEscape(l.Name)})
		}
	}
	v.Form = f.fields()
	m, channels := f.chosen()
	if f.typed && problem == "" && len(f.form.bad.Fields) == 0 && len(f.rows) > 0 {
		v.Ready = true
		v.Rows = strain.Table{Caption: "First rows, as they would be read", Columns: []ui.Column{{Label: "Line", Numeric: true}, {Label: "Time"}}}
		for i, c := range channels {
			u, _ := logfile.UnitNamed(m.Values[i].Unit)
			unit := map[logfile.Quantity]string{logfile.Strain: "µε", logfile.Displacement: "mm", logfile.Temperature: "°C", logfile.Stress: "MPa"}[u.Quantity]
			v.Rows.Columns = append(v.Rows.Columns, ui.Column{Label: c.Name, Unit: unit, Numeric: true})
		}
		for _, r := range f.rows[:min(6, len(f.rows))] {
			row := []strain.Cell{{Text: strconv.Itoa(r.Line), Num: true}, {Text: r.At.In(e.zone).Format("2006-01-02 15:04:05.000"), Num: true}}
			for _, x := range r.Values {
				row = append(row, strain.Cell{Text: decimalText(x, 4), Num: true})
			}
			v.Rows.Rows = append(v.Rows.Rows, row)
		}
	}
	return e.s.render(w, e.r, status, strain.FilePage(e.strainPage("Read a file of"), v))
}

// figure is a number with some decimals; a dash for none.
func decimalText(v float64, decimals int) string {
	if v != v {
		return "–"
	}
	return strconv.FormatFloat(v, 'f', decimals, 64)
}

func (f *strainDraft) fields() strain.Form {
	e, m, t := f.e, f.m, f.form
	count := func(n int) string {
		if n == 0 {
			return ""
		}
		return strconv.Itoa(n)
	}
	sensors := []ui.Option{{Label: "not read"}}
	for _, x := range e.rec.Sensors {
		if x.RemovedAt == nil {
			sensors = append(sensors, ui.Option{Value: x.ID, Label: x.Name + ", " + monitor.Kind(x.Kind).String()})
		}
	}
	start, every, rate := "", "", ""
	if m.Clock.Start != nil {
		start = m.Clock.Start.In(e.zone).Format("2006-01-02T15:04:05")
	}
	if m.Clock.Every > 0 {
		every = strconv.FormatFloat(m.Clock.Every, 'g', -1, 64)
	}
	if f.rate > 0 {
		rate = strconv.FormatFloat(f.rate, 'g', 6, 64)
	}
	zones := []ui.Option{{Label: "in the file itself"}, {Value: "UTC", Label: "UTC"}}
	if e.zone != time.UTC {
		zones = append(zones, ui.Option{Value: e.zone.String(), Label: e.zone.String() + ", as clocks there change"})
	}
	if m.Clock.Zone != "" && labelOf(zones, m.Clock.Zone) == m.Clock.Zone && m.Clock.Zone != "UTC" {
		zones = append(zones, ui.Option{Value: m.Clock.Zone, Label: m.Clock.Zone})
	}
	at := strain.Group{Title: "Times", Fields: []ui.Field{{Name: "kind", Label: "The time is", Options: clockKinds, Value: m.Clock.Kind}, {Name: "time_column", Label: "Column of the time", InputMode: "numeric", Value: count(m.Clock.Index), Short: true},
		{Name: "start", Label: "Start that the file counts from", Type: "datetime-local", Value: start, Optional: true},
		{Name: "zone", Label: "Zone of the logger's clock", Options: zones, Value: m.Clock.Zone, Optional: true}, {Name: "rate", Label: "Rows a second", InputMode: "decimal", Value: rate, Short: true, Hint: ui.Sentence(monitor.RateWords(f.rate))},
		{Name: "order", Label: "Order of the date", Options: append([]ui.Option{{Label: "choose"}}, dateOrders...), Value: m.Clock.Order, Optional: true},
		{Name: "day_column", Label: "Column of the time of day, if apart", InputMode: "numeric", Value: count(m.Clock.Time), Optional: true, Short: true},
		{Name: "every", Label: "Step of rows without a time", Unit: "s", InputMode: "decimal", Value: every, Optional: true, Short: true}}}
	cols := strain.Group{Title: "Columns"}
	for i, c := range m.Values {
		n := strconv.Itoa(c.Index)
		cols.Fields = append(cols.Fields, ui.Field{Name: "sensor-" + n, Label: "Column " + n + ", " + c.Name + ", is of", Options: sensors, Value: f.who[i], Optional: true},
			ui.Field{Name: "unit-" + n, Label: "Unit of column " + n, Options: unitOptions, Value: f.units[i], Optional: true})
	}
	table := strain.Group{Title: "The table", Closed: true, Fields: []ui.Field{{Name: "header", Label: "Lines above the first row", InputMode: "numeric", Value: strconv.Itoa(m.Header), Short: true},
		{Name: "separator", Label: "Columns are parted by", Options: wordsAsValues(separatorNames), Value: separatorWord(m.Separator)},
		{Name: "decimal", Label: "Decimals are parted by", Options: []ui.Option{{Value: ".", Label: "point"}, {Value: ",", Label: "comma"}}, Value: m.Decimal},
		{Name: "encoding", Label: "Encoding", Options: []ui.Option{{Value: "utf-8", Label: "UTF-8"}, {Value: "latin-1", Label: "Latin-1"}, {Value: "utf-16le", Label: "UTF-16, low byte first"}, {Value: "utf-16be", Label: "UTF-16, high byte first"}}, Value: m.Encoding},
		{Name: "none", Label: "What stands for no reading", Hint: "Parted by semicolons, such as NaN; -999.", Value: strings.Join(m.NoReading, "; "), Optional: true}}}
	rec := strain.Group{Title: "The recording", Fields: []ui.Field{{Name: "logger", Label: "Logger"}, {Name: "note", Label: "Note", Optional: true},
		{Name: "remember", Label: "Remember how this logger is read, as", Value: t.text("known"), Optional: true, Hint: "Its next file is then read the same way."}}}
	out := strain.Form{Action: e.path("strain", "recordings", "file", f.d.ID), Groups: []strain.Group{at, cols, table, rec}}
	for gi := range out.Groups {
		g := &out.Groups[gi]
		for i := range g.Fields {
			x := &g.Fields[i]
			if t.values.Has(x.Name) {
				x.Value = t.values.Get(x.Name)
			}
			for _, d := range f.doubts {
				if mapFields[d.Field] == x.Name {
					x.Hint = ui.Sentence(d.Say)
				}
			}
			if t.bad.Of(x.Name) != nil {
				g.Closed = false
			}
			*x = x.With(&t.bad)
		}
	}
	return out
}
