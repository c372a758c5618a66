package uhpc

import (
	"fmt"
	"math"
	"slices"
	"time"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/units"
)

// NoSensorGate is said beside every strength sensor.
const NoSensorGate = "A strength sensor opens no gate: it speaks for one point of the panel by its maker's own calibration. Only breaks of field- or match-cured specimens release a form or traffic."

// StrengthReading is what a strength sensor in the concrete said at an instant.
type StrengthReading struct {
	At    time.Time
	Value units.Stress
}

// Broke is a sound set of specimens that hardened as the panel did, with the instant
// of its last break.
type Broke struct {
	Name string
	At   time.Time
	Mean units.Stress
}

// BesideLine is one reading of a strength sensor beside what else is known of the
// same hour.
type BesideLine struct {
	At        time.Time
	Hours     float64 // since the casting
	Sensor    units.Stress
	Specimens bool // beside broken specimens; otherwise beside the forecast
	Name      string
	Other     units.Stress
	Low, High units.Stress // band of the forecast
	Off       float64      // the sensor over the other, less one
	Apart     bool
}

// besideDays are the ages at which a sensor is held to the forecast.
var besideDays = [...]float64{1, 2, 3, 4, 5, 7, 14, 28}

// Beside holds the readings of a strength sensor, in order of time, to the forecast by
// maturity and to broken specimens. The forecast is taken where temperatures were
// measured and its curve was tested, at round ages and at the last such reading;
// specimens at their last break. A reading stands for an hour that is no further off
// than a gap in a curing record may be. Specimens are apart from it beyond the setting
// uhpc.sensor_apart; the forecast where it is also outside its own band.
func Beside(f Forecast, readings []StrengthReading, sets []Broke, b basis.Basis) []BesideLine {
	apart := b.Value(basis.SensorApart)
	var out []BesideLine
	hold := func(at time.Time, l BesideLine) {
		x, ok := nearReading(readings, at, b)
		if !ok || !(l.Other > 0) {
			return
		}
		l.At, l.Hours, l.Sensor = at, at.Sub(f.Cast).Hours(), x.Value
		l.Off = float64(x.Value/l.Other) - 1
		l.Apart = math.Abs(l.Off) > apart && (l.Specimens || x.Value < l.Low || x.Value > l.High)
		out = append(out, l)
	}
	if f.Refused() == "" && f.SoFar != nil && len(readings) > 0 {
		var at []time.Time
		last := readings[len(readings)-1].At
		if f.SoFar.Until.Before(last) {
			last = f.SoFar.Until
		}
		for _, d := range besideDays {
			if t := f.Cast.Add(time.Duration(d * 24 * float64(time.Hour))); last.Sub(t) > 6*time.Hour {
				at = append(at, t)
			}
		}
		for _, t := range append(at, last) {
			if e := f.At(t); e.Reach == Inside && e.Measured {
				hold(t, BesideLine{Name: "forecast by maturity", Other: e.Value, Low: e.Low, High: e.High})
			}
		}
	}
	for _, s := range sets {
		hold(s.At, BesideLine{Specimens: true, Name: s.Name, Other: s.Mean})
	}
	slices.SortStableFunc(out, func(a, b BesideLine) int { return a.At.Compare(b.At) })
	return out
}

// nearReading is the reading next to an instant, no further off than a gap may be.
func nearReading(list []StrengthReading, at time.Time, b basis.Basis) (StrengthReading, bool) {
	i, _ := slices.BinarySearchFunc(list, at, func(x StrengthReading, t time.Time) int { return x.At.Compare(t) })
	best, ok := StrengthReading{}, false
	reach := time.Duration(b.Value(basis.CuringGapLow) * float64(time.Hour))
	for _, k := range [...]int{i - 1, i} {
		if k < 0 || k >= len(list) {
			continue
		}
		if d := list[k].At.Sub(at).Abs(); d <= reach {
			best, ok, reach = list[k], true, d
		}
	}
	return best, ok
}

// BesideWords is what a reader must know of the lines of one sensor, the one that lies
// furthest off named; apart tells that it is a finding.
func BesideWords(name string, lines []BesideLine, b basis.Basis) (words string, apart bool) {
	if len(lines) == 0 {
		return name + " has no reading within " + fmt.Sprintf("%g h", b.Value(basis.CuringGapLow)) + " of a measured hour of the forecast or of a break: nothing can be held to it.", false
	}
	worst, n := 0, 0
	for i, l := range lines {
		if l.Apart {
			n++
		}
		if l.Apart && !lines[worst].Apart || l.Apart == lines[worst].Apart && math.Abs(l.Off) > math.Abs(lines[worst].Off) {
			worst = i
		}
	}
	w := lines[worst]
	side := "above"
	if w.Off < 0 {
		side = "below"
	}
	limit := fmt.Sprintf("%.0f %%", 100*b.Value(basis.SensorApart))
	if n == 0 {
		return fmt.Sprintf("%s agrees: it lies at most %.1f %% %s the %s; they are apart above %s.", name, 100*math.Abs(w.Off), side, w.Name, limit), false
	}
	return fmt.Sprintf("%s is apart in %d of %d comparisons, at worst %.1f %% %s the %s, %.1f days after casting; the limit is %s. Look at its calibration for this mix, its place and its cable, "+
		"and whether the specimens were kept as warm as the panel; until that is known go by the lower.", name, n, len(lines), 100*math.Abs(w.Off), side, w.Name, w.Hours/24, limit), true
}
