package uhpc

import (
	"fmt"
	"time"

	"endcast/internal/domain/basis"
)

// Place is where a sensor sits.
type Place string

// Places of a sensor.
const (
	Coldest    Place = "coldest" // in the concrete where it loses most heat: a thin edge, the side of a steel flange
	Core       Place = "core"    // in the concrete, where it is warmest
	AtForm     Place = "form"    // in the concrete, at the form
	InAir      Place = "air"
	AtSpecimen Place = "specimen" // beside specimens, not in the end
)

// InConcrete reports whether a sensor there feels the concrete of the end.
func (p Place) InConcrete() bool { return p == Coldest || p == Core || p == AtForm }

// Sensor is one sensor of a placement with what its record says.
type Sensor struct {
	Name   string
	Place  Place
	Result CuringResult
}

// Governing is the sensor that speaks for a placement.
type Governing struct {
	Sensor int // position in the list
	Air    bool
	// Words are what a reader must know of the choice.
	Words []string
}

// Govern picks the sensor that governs: the one in the concrete that has matured
// least by the end of the time that all of them cover. A sensor in the air governs
// only where none sits in the concrete, since the girder draws heat that the air
// does not show. A void or empty record governs nothing; where it had matured less
// than the others when it stopped, no other can stand in for it, and ok is false.
func Govern(sensors []Sensor, b basis.Basis) (g Governing, ok bool) {
	var in, air []int
	for i, s := range sensors {
		switch {
		case s.Result.Readings == 0:
		case s.Place.InConcrete():
			in = append(in, i)
		case s.Place == InAir:
			air = append(air, i)
		}
	}
	list := in
	if len(in) == 0 {
		list, g.Air = air, true
	}
	least, found := coldest(sensors, list)
	if !found {
		g.Words = append(g.Words, "no sensor has a record without a long gap")
		return g, false
	}
	g.Sensor = least
	if need := int(b.Value(basis.CuringSensors)); len(in) > 0 && len(in) < need {
		g.Words = append(g.Words, fmt.Sprintf("%d of at least %d sensors in the concrete: the coldest point may be elsewhere", len(in), need))
	}
	if g.Air {
		g.Words = append(g.Words, "no sensor in the concrete: the air stands in for it, and what the steel draws off is not known")
	}
	for _, i := range list {
		s := sensors[i]
		if i == least || !s.Result.Void {
			continue
		}
		end := s.Result.VoidFrom
		at, there := sensors[least].Result.At(end)
		if !there || s.Result.Maturity[Equivalent] < at.Maturity[Equivalent] {
			g.Words = append(g.Words, fmt.Sprintf("%s was the colder one when its record ended in a gap: no other can stand in for it", s.Name))
			return g, false
		}
		g.Words = append(g.Words, fmt.Sprintf("%s is left out: its record ended in a gap, and it was not the colder one", s.Name))
	}
	return g, true
}

// coldest is the sensor of those listed that has matured least at the end of the
// time that all sound records cover.
func coldest(sensors []Sensor, list []int) (least int, found bool) {
	var until time.Time
	for _, i := range list {
		if r := sensors[i].Result; !r.Void && (until.IsZero() || r.Until.Before(until)) {
			until = r.Until
		}
	}
	var best float64
	for _, i := range list {
		r := sensors[i].Result
		if r.Void {
			continue
		}
		m, there := r.At(until)
		v := m.Maturity[Equivalent]
		if !there {
			v = 0 // covered after the others ended
		}
		if !found || v < best {
			least, best, found = i, v, true
		}
	}
	return least, found
}
