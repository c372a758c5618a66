package web

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/monitor"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/uhpc"
	"endcast/internal/domain/units"
	"endcast/views/casting"
	"endcast/views/drawing"
	"endcast/views/ui"
)

// sensorColumns is to how many readings a recording of a strength sensor is thinned.
const sensorColumns = 2000

// strengthSensor is one strength sensor with what it said since the casting.
type strengthSensor struct {
	sensor   repair.Sensor
	end      string
	readings []uhpc.StrengthReading
}

// strengthReadings reads the strength sensors of the ends of the casting. A sensor
// that has no recording is listed without readings.
func (c *pourReader) strengthReadings(ctx context.Context) ([]strengthSensor, error) {
	var out []strengthSensor
	for _, rec := range c.scope.Ends {
		for _, x := range rec.Sensors {
			if monitor.Kind(x.Kind) != monitor.StrengthSensor || x.RemovedAt != nil && x.RemovedAt.Before(c.pour.StartedAt) {
				continue
			}
			m := x.Monitor()
			k, err := m.Converter(c.basis)
			if err != nil {
				return nil, err
			}
			s := strengthSensor{sensor: x, end: rec.End.Name}
			for _, r := range rec.CountedRecordings() {
				ch := slices.IndexFunc(r.Channels, func(k repair.RecordingChannel) bool { return k.Sensor == x.ID })
				from := max(r.FromAt.UnixNano(), c.pour.StartedAt.UnixNano())
				if ch < 0 || from > r.ToAt.UnixNano() {
					continue
				}
				cols, _, err := c.s.store.Trace(ctx, r, ch, from, r.ToAt.UnixNano(), sensorColumns)
				if err != nil {
					return nil, err
				}
				for _, col := range cols {
					if at := col.From + (col.To-col.From)/2; col.Bin.N > 0 && m.At(at) {
						s.readings = append(s.readings, uhpc.StrengthReading{At: time.Unix(0, at).UTC(), Value: units.Stress(k.Value((col.Bin.Min + col.Bin.Max) / 2))})
					}
				}
			}
			slices.SortStableFunc(s.readings, func(a, b uhpc.StrengthReading) int { return a.At.Compare(b.At) })
			out = append(out, s)
		}
	}
	return out, nil
}

// strengthSensors shows them beside the forecast and the broken specimens; nil where
// there is none.
func (c *pourReader) strengthSensors(ctx context.Context, series []logSeries, pc programCurve, q asked) (*casting.CuringBeside, error) {
	list, err := c.strengthReadings(ctx)
	if err != nil || len(list) == 0 {
		return nil, err
	}
	governing, f := c.foreseen(series, pc, q)
	if governing == nil {
		f.SoFar = nil
	}
	v := &casting.CuringBeside{NoGate: uhpc.NoSensorGate, Unit: units.Stresses.Label(c.sys), Limit: fmt.Sprintf("%.0f %%", 100*c.basis.Value(basis.SensorApart)), Href: c.head.Path("basis", string(basis.SensorApart))}
	chart := &drawing.BesideData{ID: "beside", System: c.sys}
	var broke []uhpc.Broke
	for _, r := range c.sets(c.pour, c.list) {
		if r.refused || r.stats.State != uhpc.Sound || r.set.Cure == uhpc.StandardCure {
			continue
		}
		b := uhpc.Broke{Name: fmt.Sprintf("%s set of %s, batch %d", cureWords(string(r.set.Cure)), ageText(r.set.NominalHours), r.number), Mean: r.stats.Mean}
		for _, sp := range r.set.Specimens {
			if sp.Broken.After(b.At) {
				b.At = sp.Broken
			}
		}
		broke = append(broke, b)
		chart.Sets = append(chart.Sets, drawing.Point{X: b.At.Sub(f.Cast).Hours() / 24, Y: float64(b.Mean)})
	}
	for _, s := range list {
		name, href := s.sensor.Name+" at "+s.end, c.head.Path("ends", s.end, "strain", "sensors")
		if len(s.readings) == 0 {
			v.Findings = append(v.Findings, casting.CheckLine{Mark: ui.Mark{State: ui.Wait, Text: "no reading"}, Text: name + " is in place; no recording of it since the casting is on record."})
			continue
		}
		lines := uhpc.Beside(f, s.readings, broke, c.basis)
		words, apart := uhpc.BesideWords(name, lines, c.basis)
		mark := ui.Mark{State: ui.Good, Text: "agrees"}
		if apart {
			mark = ui.Mark{State: ui.Caution, Text: "apart"}
		} else if len(lines) == 0 {
			mark = ui.Mark{State: ui.Wait, Text: "nothing beside it"}
		}
		v.Findings = append(v.Findings, casting.CheckLine{Mark: mark, Text: words})
		x := drawing.Series{Name: strings.TrimSpace(name)}
		for _, p := range s.readings {
			x.Points = append(x.Points, drawing.Point{X: p.At.Sub(f.Cast).Hours() / 24, Y: float64(p.Value)})
		}
		chart.Sensors = append(chart.Sensors, x)
		for _, l := range lines {
			row := casting.BesideRow{Name: name, Href: href, When: c.day(l.At), Age: ageText(l.Hours) + " after casting", Sensor: c.strengthFigure(l.Sensor), Against: l.Name, Other: c.strengthFigure(l.Other),
				Off: plusBefore(fmt.Sprintf("%.1f", 100*l.Off)), Mark: ui.Mark{State: ui.Good, Text: "agrees"}}
			if !l.Specimens {
				row.Band = "band " + c.strengthFigure(l.Low) + " to " + c.strengthFigure(l.High)
			}
			if l.Apart {
				row.Mark = ui.Mark{State: ui.Caution, Text: "apart"}
			}
			v.Rows = append(v.Rows, row)
		}
	}
	if len(chart.Sensors) > 0 {
		c.besideForecast(chart, f)
		chart.Levels = []drawing.Rule{{At: c.basis.Value(basis.StripStrength), Text: c.strength(units.Stress(c.basis.Value(basis.StripStrength))) + " to strip the form"},
			{At: c.basis.Value(basis.FinalStrength), Text: c.strength(units.Stress(c.basis.Value(basis.FinalStrength))) + " specified"}}
		v.Chart = chart
	}
	return v, nil
}

// besideForecast draws the forecast over the hours that were measured.
func (c *pourReader) besideForecast(d *drawing.BesideData, f uhpc.Forecast) {
	if f.SoFar == nil || f.Refused() != "" {
		return
	}
	const steps = 60
	span := f.SoFar.Until.Sub(f.Cast)
	for i := range steps + 1 {
		e := f.At(f.Cast.Add(span * time.Duration(i) / steps))
		if e.Reach != uhpc.Inside {
			continue
		}
		x := e.Hours / 24
		d.Forecast = append(d.Forecast, drawing.Point{X: x, Y: float64(e.Value)})
		d.Band = append(d.Band, drawing.Spread{X: x, Lo: float64(e.Low), Hi: float64(e.High)})
	}
}
