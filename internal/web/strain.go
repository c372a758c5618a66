package web

import (
	"context"
	"fmt"
	"net/http"
	"strconv"
	"strings"
	"time"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/monitor"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
	"endcast/views/drawing"
	"endcast/views/field"
	"endcast/views/strain"
	"endcast/views/ui"
)

// RunStrain reads files of strain and finds passages until the context ends. One server
// does it for a database.
func (s *Server) RunStrain(ctx context.Context) {
	tick := time.NewTicker(time.Minute) // for work that another server left
	defer tick.Stop()
	for {
		if err := s.store.WorkStrain(ctx); err != nil && ctx.Err() == nil {
			s.log.ErrorContext(ctx, "a file of strain was not read; the work goes on with the next", "error", err)
		}
		select {
		case <-ctx.Done():
			return
		case <-s.strainWork:
		case <-tick.C:
		}
	}
}

// wakeStrain tells that there is work.
func (s *Server) wakeStrain() {
	select {
	case s.strainWork <- struct{}{}:
	default:
	}
}

// strainHead is the head of the pages of strain of this end; here is the part of the
// address after strain.
func (e *endReader) strainHead(here string) strain.Head {
	h := strain.Head{Name: e.rec.End.Name, Reading: e.reading(), Zone: e.zoneNote()}
	for _, w := range []struct{ text, part string }{{"Sensors", ""}, {"Recordings", "recordings"}, {"Passages", "events"}, {"Traces", "trace"}, {"Verdict", "verdict"}} {
		l := strain.Link{Text: w.text, Href: e.path("strain"), Here: w.part == here}
		if w.part != "" {
			l.Href = e.path("strain", w.part)
		}
		h.Ways = append(h.Ways, l)
	}
	return h
}

// strainPage is the frame of a page of strain.
func (e *endReader) strainPage(title string) ui.Page {
	p := e.s.page(e.r, title+" "+e.rec.End.Name, e.crumbs(true)...)
	p.Block = e.titleBlock()
	return p
}

// strainShow is the page of the sensors of an end.
func (s *Server) strainShow(w http.ResponseWriter, r *http.Request) error {
	e, err := s.openEnd(r)
	if err != nil {
		return err
	}
	f := &typedForm{values: r.URL.Query(), sys: e.sys, zone: e.zone, now: e.now()}
	if x, ok := e.rec.SensorOf(f.text("sensor")); ok && !f.values.Has("name") {
		for k, v := range e.sensorTyped(x) {
			f.values.Set(k, v)
		}
	}
	return e.sensorsPage(w, http.StatusOK, f, field.Sent{})
}

// sensorTyped are the boxes of a sensor on record.
func (e *endReader) sensorTyped(x repair.Sensor) map[string]string {
	num := func(v float64) string {
		if v == 0 {
			return ""
		}
		return strconv.FormatFloat(v, 'g', -1, 64)
	}
	out := map[string]string{"sensor": x.ID, "name": x.Name, "sensor_kind": x.Kind, "from_bearing": x.FromBearing.Exact(e.sys), "above_flange": x.AboveFlange.Exact(e.sys), "face": x.Face,
		"stud": x.Stud, "other_end": yesOrEmpty(x.OtherEnd), "place": x.Place, "direction": x.Direction, "angle": num(float64(x.Angle)), "channel": x.Channel, "sign": strconv.Itoa(x.Sign),
		"input": x.Input, "per_count": num(x.PerCount), "bridge": x.Bridge, "factor": num(x.Factor), "poisson": num(x.Poisson), "gauge_ohm": num(x.GaugeOhm), "lead_ohm": num(x.LeadOhm),
		"gain": num(x.Gain), "offset": num(x.Offset), "reversed": yesOrEmpty(x.Reversed), "low": num(x.Low), "high": num(x.High), "note": x.Note, "installed_at": x.InstalledAt.In(e.zone).Format("2006-01-02T15:04")}
	if x.Wires > 0 {
		out["wires"] = strconv.Itoa(x.Wires)
	}
	if x.ShuntOhm != nil && x.ShuntUe != nil {
		out["shunt_ohm"], out["shunt_ue"] = num(*x.ShuntOhm), num(*x.ShuntUe)
	}
	if x.ZeroAt != nil {
		out["zero_at"], out["zero_raw"] = x.ZeroAt.In(e.zone).Format("2006-01-02T15:04"), strconv.FormatFloat(x.ZeroRaw, 'g', -1, 64)
	}
	return out
}

func yesOrEmpty(b bool) string {
	if b {
		return "yes"
	}
	return ""
}

// strainSensorSave puts a sensor on record, or corrects one.
func (s *Server) strainSensorSave(w http.ResponseWriter, r *http.Request) error {
	e, err := s.openEnd(r)
	if err != nil {
		return err
	}
	f, err := e.typed()
	if err != nil {
		return err
	}
	ch := f.sensor()
	if err = f.bad.Err(); err == nil {
		err = e.observe(time.Time{}, ch)
	}
	if refusedForm(err) {
		return e.sensorsPage(w, http.StatusUnprocessableEntity, f, f.sent(err))
	}
	if err != nil {
		return err
	}
	s.flash(r, ui.Done, "Sensor "+ch.Name+" is on record.")
	return seeOther(w, r, e.path("strain"))
}

func (f *typedForm) sensor() repair.SaveSensor {
	num := func(field string) float64 {
		if v := f.number(field, units.Numbers); v != nil {
			return *v
		}
		return 0
	}
	length := func(field string) units.Length {
		if v := quantity[units.Length](f, field); v != nil {
			return *v
		}
		return 0
	}
	ch := repair.SaveSensor{Sensor: f.text("sensor"), Name: f.text("name"), SensorKind: f.text("sensor_kind"), FromBearing: length("from_bearing"), AboveFlange: length("above_flange"),
		Face: f.text("face"), Stud: f.text("stud"), OtherEnd: f.text("other_end") == "yes", Place: f.text("place"), Direction: f.text("direction"), Angle: units.Angle(num("angle")),
		Channel: f.text("channel"), Sign: int(num("sign")), Input: f.text("input"), PerCount: num("per_count"), Bridge: f.text("bridge"), Factor: num("factor"), Poisson: num("poisson"),
		GaugeOhm: num("gauge_ohm"), LeadOhm: num("lead_ohm"), Wires: int(num("wires")), Gain: num("gain"), Offset: num("offset"), Reversed: f.text("reversed") == "yes",
		Low: num("low"), High: num("high"), ShuntOhm: f.number("shunt_ohm", units.Numbers), ShuntUe: f.number("shunt_ue", units.Numbers),
		InstalledAt: f.moment("installed_at"), ZeroAt: f.moment("zero_at"), ZeroRaw: num("zero_raw"), Note: f.text("note"), Typed: repair.Typed{}}
	for _, k := range []string{"from_bearing", "above_flange"} {
		ch.Typed[k] = f.text(k)
	}
	return ch
}

// strainSensorRemove says that a sensor is no longer there.
func (s *Server) strainSensorRemove(w http.ResponseWriter, r *http.Request) error {
	e, err := s.openEnd(r)
	if err != nil {
		return err
	}
	f, err := e.typed()
	if err != nil {
		return err
	}
	ch := repair.RemoveSensor{Sensor: f.text("remove"), At: f.moment("removed_at"), Why: f.text("why")}
	if err = f.bad.Err(); err == nil {
		err = e.observe(time.Time{}, ch)
	}
	if refusedForm(err) || fault.KindOf(err) == fault.NotFound && err != nil {
		return e.sensorsPage(w, http.StatusUnprocessableEntity, f, f.sent(err))
	}
	if err != nil {
		return err
	}
	s.flash(r, ui.Done, "The sensor is taken out. What it measured stays on record.")
	return seeOther(w, r, e.path("strain"))
}

var sensorDirections = []ui.Option{{Value: "vertical", Label: "vertical"}, {Value: "along", Label: "along the girder"}, {Value: "across", Label: "across the web"}, {Value: "inclined", Label: "inclined"},
	{Value: "none", Label: "none, a thermometer"}}

var sensorInputs = []ui.Option{{Value: "engineering", Label: "microstrain, mm, °C, m/s² or MPa"}, {Value: "mv_v", Label: "mV/V"}, {Value: "counts", Label: "counts"}}

var sensorBridges = []ui.Option{{Value: "", Label: "none, or the logger converts"}, {Value: "quarter", Label: "quarter"}, {Value: "half_bending", Label: "half, two active gauges"},
	{Value: "half_poisson", Label: "half, one active and one Poisson gauge"}, {Value: "full_bending", Label: "full, four active gauges"}, {Value: "full_poisson", Label: "full, two active and two Poisson gauges"}}

func (e *endReader) sensorsPage(w http.ResponseWriter, status int, f *typedForm, sent field.Sent) error {
	v := strain.Sensors{Head: e.strainHead("")}
	v.Head.Refused, v.Head.Bad, v.Head.Entry = sent.Problem, sent.Bad, sent.Entry
	cast := int64(0)
	if at := e.rec.CastAt(e.sc); !at.IsZero() {
		cast = at.UnixNano()
	}
	var there []monitor.Sensor
	t := strain.Table{Caption: "Sensors of the end", None: "No sensor is on record at this end.",
		Columns: []ui.Column{{Label: "Mark", Numeric: true}, {Label: "Sensor"}, {Label: "Kind"}, {Label: "Place"}, {Label: "Channel"}, {Label: "Under a truck"}, {Label: "Calibration"}, {Label: "Zero"}, {Label: "There"}}}
	d := e.elevationData()
	d.ID = "sensors"
	may := e.s.can(e.r, authz.RecordStrain)
	var removable []ui.Option
	for i, x := range e.rec.Sensors {
		mark := ui.Mark{State: ui.Good, Text: "since " + e.day(x.InstalledAt)}
		if x.RemovedAt != nil {
			mark = ui.Mark{State: ui.Void, Text: "until " + e.day(*x.RemovedAt)}
		} else {
			there = append(there, x.Monitor())
			removable = append(removable, ui.Option{Value: x.ID, Label: x.Name})
			if !x.OtherEnd {
				d.Pins = append(d.Pins, drawing.Pin{Label: strconv.Itoa(i + 1), Words: x.Name + ", " + monitor.Kind(x.Kind).String(), Right: x.Face == "R",
					X: e.rec.Geometry(e.sc).Bearing.Start + e.rec.Geometry(e.sc).Bearing.Length/2 + x.FromBearing, Z: x.AboveFlange})
			}
		}
		name := strain.Cell{Text: x.Name, Head: true, Small: x.Note}
		if may {
			name.Href = e.path("strain") + "?sensor=" + x.ID + "#sensor-form"
		}
		kind := strain.Cell{Text: sentenceCase(monitor.Kind(x.Kind).String())}
		if monitor.Kind(x.Kind).Role() == monitor.RoleControl {
			kind.Small = "the repair cannot change it"
		}
		place := x.FromBearing.Format(e.sys, -1) + " from the bearing line, " + x.AboveFlange.Format(e.sys, -1) + " above the flange"
		var more []string
		for _, s := range []string{map[string]string{"L": "left face", "R": "right face"}[x.Face], ifText(x.Stud, "stud "+x.Stud), ifText(yesOrEmpty(x.OtherEnd), "at an end that is not repaired"), labelOf(sensorDirections, x.Direction), x.Place} {
			if s != "" {
				more = append(more, s)
			}
		}
		moves := "rises"
		if x.Sign < 0 {
			moves = "falls"
		}
		zero := strain.Cell{Text: "not read"}
		if x.ZeroAt != nil {
			zero = strain.Cell{Text: strconv.FormatFloat(x.ZeroRaw, 'g', 8, 64), Small: e.when(*x.ZeroAt), Num: true}
		}
		t.Rows = append(t.Rows, []strain.Cell{{Text: strconv.Itoa(i + 1), Num: true}, name, kind, {Text: place, Small: strings.Join(more, ", ")}, {Text: x.Channel}, {Text: moves}, {Text: calibrationWords(x)}, zero, {Mark: &mark, Small: x.RemovedWhy}})
	}
	v.Table = t
	if len(e.rec.Sensors) > 0 {
		for _, c := range monitor.Cautions(e.sc.Basis(), there, cast) {
			v.Cautions = append(v.Cautions, ui.Sentence(c.Words))
		}
		v.Drawing = drawing.End(d)
	}
	if may {
		v.Form = e.sensorForm(f, sent)
		if len(removable) > 0 {
			v.Remove = &strain.Form{ID: "remove", Title: "Take a sensor out", Action: e.path("strain", "sensors", "remove"), Submit: "Take it out", Groups: []strain.Group{{Fields: []ui.Field{
				{Name: "remove", Label: "Sensor", Options: removable, Value: f.text("remove")},
				ui.Field{Name: "removed_at", Label: "Taken out at", Type: "datetime-local", Value: f.text("removed_at")}.With(sent.Bad),
				ui.Field{Name: "why", Label: "Why", Value: f.text("why")}.With(sent.Bad)}}}}
		}
	}
	return e.s.render(w, e.r, status, strain.SensorsPage(e.strainPage("Sensors of"), v))
}

func ifText(cond, text string) string {
	if cond == "" {
		return ""
	}
	return text
}

func calibrationWords(x repair.Sensor) string {
	out := labelOf(sensorInputs, x.Input)
	if x.Bridge != "" {
		out += ", " + labelOf(sensorBridges, x.Bridge) + fmt.Sprintf(" bridge, gauge factor %g", x.Factor)
	}
	if x.ShuntOhm != nil && x.ShuntUe != nil {
		out += fmt.Sprintf(", shunt %g ohm read %g", *x.ShuntOhm, *x.ShuntUe)
	}
	if x.Reversed {
		out += ", reversed"
	}
	return out
}

func (e *endReader) sensorForm(f *typedForm, sent field.Sent) *strain.Form {
	title, submit := "Put a sensor on record", "Put it on record"
	if f.text("sensor") != "" {
		title, submit = "Correct sensor "+f.text("name"), "Correct it"
	}
	var kinds []ui.Option
	for _, k := range monitor.Kinds() {
		kinds = append(kinds, ui.Option{Value: string(k), Label: k.String()})
	}
	box := func(x ui.Field) ui.Field {
		x.Value = f.text(x.Name)
		return x.With(sent.Bad)
	}
	num := func(name, label, unit string) ui.Field {
		return box(ui.Field{Name: name, Label: label, Unit: unit, InputMode: "decimal", Optional: true, Short: true})
	}
	length := units.Lengths.Label(e.sys)
	yes := []ui.Option{{Value: "", Label: "no"}, {Value: "yes", Label: "yes"}}
	return &strain.Form{ID: "sensor", Title: title, Submit: submit, Action: e.path("strain", "sensors"), Hidden: [][2]string{{"sensor", f.text("sensor")}}, Groups: []strain.Group{
		{Fields: []ui.Field{box(ui.Field{Name: "name", Label: "Name, as it is marked"}), box(ui.Field{Name: "sensor_kind", Label: "Kind", Options: kinds}),
			box(ui.Field{Name: "channel", Label: "Channel of the logger", Hint: "As the column of its files is called."}),
			box(ui.Field{Name: "installed_at", Label: "Put in at", Type: "datetime-local"})}},
		{Title: "Place", Fields: []ui.Field{box(ui.Field{Name: "from_bearing", Label: "From the bearing line", Unit: length, Short: true}), box(ui.Field{Name: "above_flange", Label: "Above the bottom flange", Unit: length, Short: true}),
			box(ui.Field{Name: "face", Label: "Face", Optional: true, Options: []ui.Option{{Label: "none"}, {Value: "L", Label: "left"}, {Value: "R", Label: "right"}}}), box(ui.Field{Name: "direction", Label: "Direction", Options: sensorDirections}),
			num("angle", "Angle from the vertical, where inclined", "°"), box(ui.Field{Name: "stud", Label: "Mark of the stud", Optional: true, Short: true}),
			box(ui.Field{Name: "other_end", Label: "At an end that is not repaired", Options: yes, Optional: true}), box(ui.Field{Name: "place", Label: "Place in words", Optional: true})}},
		{Title: "What its numbers mean", Fields: []ui.Field{box(ui.Field{Name: "input", Label: "The logger writes", Options: sensorInputs}),
			box(ui.Field{Name: "sign", Label: "Under a truck it", Optional: true, Options: []ui.Option{{Label: "moves as usual for its kind"}, {Value: "-1", Label: "falls"}, {Value: "1", Label: "rises"}}}),
			box(ui.Field{Name: "zero_at", Label: "Zero read at", Type: "datetime-local", Optional: true, Hint: "Without the load that it is to show, before casting."}), num("zero_raw", "Zero, as the logger wrote it", "")}},
		{Title: "Calibration of a gauge whose logger does not convert", Closed: f.text("bridge")+f.text("gain")+f.text("per_count") == "" && len(sent.Bad.All()) == 0, Fields: []ui.Field{
			box(ui.Field{Name: "bridge", Label: "Bridge", Options: sensorBridges, Optional: true}), num("factor", "Gauge factor", ""), num("poisson", "Poisson's ratio", ""), num("gauge_ohm", "Resistance of the gauge", "ohm"),
			num("lead_ohm", "Resistance of one lead", "ohm"), num("wires", "Wires of a quarter bridge", ""), num("per_count", "A count stands for", ""), num("gain", "Gain without a bridge", ""), num("offset", "Offset", ""),
			box(ui.Field{Name: "reversed", Label: "Wired so that tension reads negative", Options: yes, Optional: true}), num("low", "Range of the logger from", ""), num("high", "Range of the logger to", ""),
			num("shunt_ohm", "Shunt resistor", "ohm"), num("shunt_ue", "Shown for the shunt", "microstrain")}},
		{Fields: []ui.Field{box(ui.Field{Name: "note", Label: "Note", Rows: 2, Optional: true})}}}}
}
