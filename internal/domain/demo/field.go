package demo

import (
	"math"
	"strconv"

	"endcast/internal/domain/girder"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
)

// metal is the state of the steel at one end at one visit, in inches: a smooth
// field of loss with its greatest value over the bearing.
type metal struct {
	key            string
	web, depth     float64 // as new; clear depth between flanges
	flange, stiff  float64 // thickness as new; zero without stiffeners
	loss           float64 // greatest, part of the thickness
	base           float64 // everywhere
	height, length float64 // of the zone of loss
	waveX, waveZ   float64 // phases of the field, radians
	hole           *repair.HoleIn
}

// steelOf is the metal at an end, as found or after cleaning.
func steelOf(n girder.Name, cleaned bool) metal {
	l, key := lineOf(n), n.String()
	m := metal{key: key}
	sec := sectionOf(n)
	m.web, m.depth, m.flange = float64(sec.WebThickness/units.Inch), float64((sec.Depth-sec.FlangeThickness-sec.TopFlangeThickness)/units.Inch), float64(sec.FlangeThickness/units.Inch)
	if e := l.end(n.Girder); e.Facts.StiffenerPairs > 0 {
		m.stiff = float64(e.Facts.StiffenerThick / units.Inch)
	}
	mean := 0.50
	if l.fascia(n.Girder) {
		mean += 0.16
	}
	if l.low(n.Girder) {
		mean += 0.10
	}
	found := clip(normal(l.leak*mean, 0.11, key, "loss"), 0.04, 0.95)
	m.loss = found
	if cleaned {
		more := exponential(0.05, key, "under the scale")
		if uniform(key, "hidden") < 0.2 {
			more += between(0.10, 0.25, key, "hidden loss")
		}
		m.loss = clip(found+more, 0.04, 0.95)
	}
	if v, ok := told[key]; ok {
		m.loss = v[0]
		if cleaned {
			m.loss = v[1]
		}
	}
	m.base = 0.15 * m.loss * uniform(key, "base")
	m.waveX, m.waveZ = 2*math.Pi*uniform(key, "wave x"), 2*math.Pi*uniform(key, "wave z")
	m.height = 2 + 13*math.Pow(m.loss, 1.2)
	m.length = 5 + 22*m.loss
	if m.loss > 0.60 && uniform(key, "hole") < 0.75 && key != criticalEnd {
		w := round(0.75+4.5*(m.loss-0.55)*between(0.7, 1.3, key, "hole width"), 0.25)
		h := round(0.75+3.0*(m.loss-0.55)*between(0.7, 1.3, key, "hole height"), 0.25)
		m.hole = &repair.HoleIn{X: in(center + round(between(-2, 1, key, "hole place"), 0.25)), Z: in(0.5), Width: in(w), Height: in(h), Rim: in(round(m.web*(1-m.loss), 0.005))}
	}
	return m
}

// criticalEnd is where cleaning left 0.03 in of web.
const criticalEnd = "3N-4"

// told are the losses that the story needs, as found and after cleaning.
var told = map[string][2]float64{
	criticalEnd: {0.58, 1 - 0.03/0.4375},
	"2F-3":      {0.41, 0.86},
	"2F-4":      {0.38, 0.79},
}

func sectionOf(n girder.Name) repair.Section {
	for _, s := range sections() {
		if s.Name == spans[n.Span-1].section {
			return s
		}
	}
	return repair.Section{}
}

// fall goes smoothly from 1 at a to 0 at b.
func fall(v, a, b float64) float64 {
	switch {
	case v <= a:
		return 1
	case v >= b:
		return 0
	}
	return 0.5 + 0.5*math.Cos(math.Pi*(v-a)/(b-a))
}

// at is the remaining thickness at a place.
func (m metal) at(x, z float64) float64 {
	along := fall(x-center, 2, max(4, m.length-center))
	if x < center {
		along = 1 - 0.25*(1-fall(center-x, 1, center))
	}
	up := fall(z, 1.2, m.height)
	// The field waves a little, but not at the place of the greatest loss.
	wave := 0.5 + 0.5*math.Sin(x/4.1+m.waveX)*math.Cos(z/3.3+m.waveZ)
	away := math.Min(1, math.Hypot(x-center, z-1)/4)
	shape := along * up * (1 - 0.22*wave*away)
	base := m.base * (0.6 + 0.4*wave)
	return m.web * (1 - base - (m.loss-base)*shape)
}

// survey is one visit's record of the metal.
func (m metal) survey(cleaned bool) repair.RecordSurvey {
	caliper := uniform(m.key, "caliper") < 0.3
	ch := repair.RecordSurvey{Facts: repair.SurveyFacts{Kind: "as_found", Method: "ultrasonic", Gauge: pick([]string{"UT-204", "UT-211"}, m.key, "gauge"), Typed: repair.Typed{}}}
	if caliper {
		ch.Facts.Method, ch.Facts.Gauge = "caliper", "CP-07"
	}
	if cleaned {
		ch.Facts.Kind = "cleaned"
	} else if lineOf(mustName(m.key)).access == navigation {
		ch.Facts.Note = "Pack rust over the bearing; readings through it are doubtful and the metal under it may be thinner."
	}
	xs := []float64{1, 3.5, 6, 8, 10.5, 13}
	for x := 16.0; x < m.length+4; x += 4 {
		xs = append(xs, x)
	}
	zs := []float64{1, 3, 5}
	for z := 8.0; z < m.height+5 && z < m.depth-6; z += 4 {
		zs = append(zs, z)
	}
	zs = append(zs, round(m.depth-3, 0.5))
	read := func(face string, x, z, bias float64) {
		if h := m.hole; h != nil {
			hx, hz := float64(h.X/units.Inch), float64(h.Z/units.Inch)
			if x >= hx && x <= hx+float64(h.Width/units.Inch) && z >= hz && z <= hz+float64(h.Height/units.Inch) {
				return
			}
		}
		where := face + strconv.FormatFloat(x, 'f', -1, 64) + "/" + strconv.FormatFloat(z, 'f', -1, 64)
		if !cleaned && ch.Facts.Note != "" && face == "R" && uniform(m.key, where, "reach") < 0.15 {
			ch.Readings = append(ch.Readings, repair.ReadingIn{Face: face, X: in(x), Z: in(z), NoAccess: true})
			return
		}
		t := clip(m.at(x, z)+bias, 0.01*m.web, m.web)
		typed := strconv.FormatFloat(round(t, 0.001), 'f', 3, 64)
		if caliper && !cleaned {
			typed = sixtyFourths(t)
		}
		v, err := units.ParseLength(typed, units.US)
		if err != nil {
			return
		}
		ch.Readings = append(ch.Readings, repair.ReadingIn{Face: face, X: in(x), Z: in(z), T: v, Typed: typed})
	}
	face := "L"
	if caliper {
		face = "T"
	}
	for j, z := range zs {
		for i, x := range xs {
			if j == len(zs)-1 && i%2 == 1 {
				continue // coarse near the top
			}
			read(face, x, z, 0)
			if !caliper && j < 3 && i%2 == j%2 && i < 6 {
				read("R", x, z, between(0.001, 0.008, m.key, "other face", strconv.Itoa(i), strconv.Itoa(j)))
			}
		}
	}
	if m.hole != nil {
		ch.Holes = []repair.HoleIn{*m.hole}
	}
	fl := in(round(m.flange*(1-0.35*m.loss*uniform(m.key, "flange")), 0.005))
	ch.Facts.FlangeThick = &fl
	if m.stiff > 0 {
		st := in(round(m.stiff*(1-0.45*m.loss*uniform(m.key, "stiffener")), 0.005))
		ch.Facts.StiffenerThick = &st
	}
	if m.loss > 0.5 {
		ch.Facts.WebDeviation = in(round(between(0, 0.25, m.key, "deviation"), 1./16))
	}
	return ch
}

// sixtyFourths types a thickness as a caliper's scale is read: 19/64.
func sixtyFourths(inches float64) string {
	n, d := int(math.Round(inches*64)), 64
	for n > 0 && n%2 == 0 && d > 1 {
		n, d = n/2, d/2
	}
	if d == 1 {
		return strconv.Itoa(n)
	}
	return strconv.Itoa(n) + "/" + strconv.Itoa(d)
}

func mustName(s string) girder.Name {
	n, _ := girder.ParseName(s)
	return n
}
