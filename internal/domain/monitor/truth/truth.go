// Package truth makes strain records whose every truck is known, so that what the
// program finds in a record can be compared with what happened. A record is fixed
// by its Case to the last printed digit: the random stream is portable and the
// order of the draws is part of the recipe.
//
// The bridge: a simple span of 80 ft with gauges on the web over the bearing, on
// the panel, on a stud, across web and panel, and on the bottom flange at midspan,
// which is the control. Invented throughout; the trucks are the legal vehicles
// Type 3, 3S2 and 3-3 of the AASHTO Manual for Bridge Evaluation (axle loads from
// memory). Lengths here are ft, forces kip, as in the recipe; records are in
// microstrain, micrometers and degrees Celsius.
package truth

import (
	"fmt"
	"math"
	"strconv"

	"endcast/internal/domain/monitor"
)

// Constants of the bridge and of the recipe.
const (
	Span        = 80.0   // ft
	Rate        = 100.0  // samples a second
	Length      = 1800.0 // s of a full record
	WebModulus  = 29000.0
	WebArea     = 7.0 // in2
	PanelMod    = 6500.0
	PanelArea   = 90.0
	Section     = 900.0 // in3, of the girder at midspan
	reaction    = 0.77  // share of a lane that the girder takes at its end
	midspan     = 0.60  // and at midspan
	ramp        = 3.0   // ft over which an axle comes onto the bearing
	headway     = 18.0  // s, mean
	leastHead   = 6.0   // s
	studStrain  = 0.40  // stud strain over panel strain
	slipOfForce = 0.15  // micrometers for a kip in the panel
	vibration   = 0.06  // of the peak reaction
	frequency   = 3.6   // Hz
	damping     = 0.02
)

// WebEA and PanelEA are the axial stiffnesses that a load share is found with, kip.
const (
	WebEA   = WebModulus * WebArea
	PanelEA = PanelMod * PanelArea
)

// Case is one record to be made. The zero values of Seconds, Headway and Least
// are those of the recipe.
type Case struct {
	Name   string
	Seed   uint64
	Share  float64 // of the live reaction that the panel carries
	Weight float64 // scale of all truck weights
	Creep  float64 // of the slip over the record, micrometers

	Seconds float64 // length of the record
	Headway float64 // mean time between trucks
	Least   float64 // least time between trucks
}

// Cases are the five of the recipe: the end before its repair; a repair that
// carries 0.55; one that does not carry; one that does not carry while lighter
// trucks pass; one that carries 0.20 and slips.
func Cases() []Case {
	return []Case{
		{Name: "before", Seed: 11, Weight: 1},
		{Name: "after", Seed: 22, Share: 0.55, Weight: 1},
		{Name: "after_notengaged", Seed: 33, Weight: 1},
		{Name: "after_light", Seed: 44, Weight: 0.7},
		{Name: "after_slip", Seed: 55, Share: 0.20, Weight: 1, Creep: 60},
	}
}

// Truck is one passage as it was, without noise, vibration and drift.
type Truck struct {
	At     float64 // s, first axle on the ramp
	Type   string
	Gross  float64 // kip
	Speed  float64 // ft/s
	PeakAt float64 // s, largest reaction
	R      float64 // kip, largest reaction of the girder end
	M      float64 // kip ft, largest moment at midspan
	Web    float64 // microstrain
	Panel  float64
	Ctrl   float64
	Slip   float64 // micrometers
}

// Columns are the channels of a record, in order.
var Columns = [...]string{"web_ue", "panel_ue", "stud_ue", "slip_um", "ctrl_ue", "temp_C"}

// Row is one sample of every channel.
type Row [len(Columns)]float64

// Record is a made record. Rows hold the values as they are printed, to three
// decimals.
type Record struct {
	Case   Case
	Trucks []Truck
	Rows   []Row
}

type vehicle struct {
	name   string
	axles  []float64
	behind []float64 // of the first axle
	upTo   float64   // cumulative probability
}

var vehicles = []vehicle{
	{name: "T3", axles: []float64{16, 17, 17}, behind: []float64{0, 15, 19}, upTo: 0.35},
	{name: "T3S2", axles: []float64{10, 15.5, 15.5, 15.5, 15.5}, behind: []float64{0, 11, 15, 37, 41}, upTo: 0.80},
	{name: "T33", axles: []float64{12, 12, 12, 16, 14, 14}, behind: []float64{0, 15, 19, 34, 50, 54}, upTo: 1},
}

func (v vehicle) gross() float64 {
	sum := 0.0
	for _, p := range v.axles {
		sum += p
	}
	return sum
}

// bearing is the influence line of the end reaction.
func bearing(x float64) float64 {
	switch {
	case x >= -ramp && x < 0:
		return 1 + x/ramp
	case x >= 0 && x <= Span:
		return 1 - x/Span
	}
	return 0
}

// middle is the influence line of the moment at midspan, ft.
func middle(x float64) float64 {
	switch {
	case x >= 0 && x <= Span/2:
		return x / 2
	case x > Span/2 && x <= Span:
		return (Span - x) / 2
	}
	return 0
}

// loads are reaction, moment and vibration by sample.
type loads struct{ r, m, v []float64 }

// pass puts one truck on the record.
func (l *loads) pass(c Case, v vehicle, t, f, speed float64) Truck {
	n, dt := len(l.r), 1/Rate
	wheelbase := v.behind[len(v.behind)-1]
	i0 := int(math.Floor(Rate * t))
	end := min(n, int(math.Floor(Rate*(t+(Span+wheelbase+ramp)/speed+0.1)))+1)
	var pk, pm, at float64
	for i := i0; i < end; i++ {
		s := speed*(float64(i)*dt-t) - ramp
		var sr, sm float64
		for j, p := range v.axles {
			sr += p * f * bearing(s-v.behind[j])
			sm += p * f * middle(s-v.behind[j])
		}
		r, m := reaction*sr, midspan*sm
		l.r[i] += r
		l.m[i] += m
		if r > pk {
			pk, at = r, float64(i)*dt
		}
		pm = max(pm, m)
	}
	w := 2 * math.Pi * frequency
	for i := i0; i < min(n, i0+800); i++ {
		tau := float64(i)*dt - t
		l.v[i] += vibration * pk * math.Exp(-damping*w*tau) * math.Sin(w*tau)
	}
	return Truck{At: round(t, 3), Type: v.name, Gross: round(f*v.gross(), 3), Speed: round(speed, 3), PeakAt: round(at, 3),
		R: round(pk, 4), M: round(pm, 3), Web: round(-(1-c.Share)*pk/WebEA*1e6, 3), Panel: round(-c.Share*pk/PanelEA*1e6, 3),
		Ctrl: round(pm*12/(WebModulus*Section)*1e6, 3), Slip: round(slipOfForce*c.Share*pk, 3)}
}

// Make makes the record of a case.
func Make(c Case) Record {
	if !(c.Seconds > 0) {
		c.Seconds = Length
	}
	if !(c.Headway > 0) {
		c.Headway = headway
	}
	if !(c.Least > 0) {
		c.Least = leastHead
	}
	n := int(c.Seconds * Rate)
	l := loads{r: make([]float64, n), m: make([]float64, n), v: make([]float64, n)}
	d := monitor.NewDraw(c.Seed)
	out := Record{Case: c, Rows: make([]Row, n)}
	for t := 5 + d.Exponential(c.Headway); t < c.Seconds-12; t += c.Least + d.Exponential(max(c.Headway-c.Least, 1e-9)) {
		u := d.Uniform()
		v := vehicles[len(vehicles)-1]
		for _, x := range vehicles {
			if x.upTo > u {
				v = x
				break
			}
		}
		mean := 0.92
		if d.Uniform() < 0.40 {
			mean = 0.55
		}
		f := min(max(mean+0.08*d.Normal(), 0.3), 1.25) * c.Weight
		speed := 88 + 6*d.Normal()
		out.Trucks = append(out.Trucks, l.pass(c, v, t, f, speed))
	}
	out.channels(l, d)
	return out
}

// channels turns loads into what the gauges would have written.
func (rec *Record) channels(l loads, d *monitor.Draw) {
	c, dt := rec.Case, 1/Rate
	for i := range rec.Rows {
		q := float64(i) * dt
		slow := math.Sin(2 * math.Pi * 0.9 * (q/Length - 0.2)) // a short record drifts no faster
		drift, mains := 9*slow, 0.3*math.Sin(2*math.Pi*40*q)
		r := l.r[i] + l.v[i]
		panel := c.Share * r / PanelEA * 1e6
		bottom := (l.m[i] + 0.25*l.v[i]*Span/4) * 12 / (WebModulus * Section) * 1e6
		rec.Rows[i] = Row{
			round(-(1-c.Share)*r/WebEA*1e6+drift+120+mains+0.9*d.Normal(), 3),
			round(-panel+0.7*drift-35+mains+0.7*d.Normal(), 3),
			round(studStrain*panel+0.5*drift+12+mains+0.9*d.Normal(), 3),
			round(slipOfForce*c.Share*r+c.Creep*q/c.Seconds+0.25*d.Normal(), 3),
			round(bottom+drift-60+mains+0.8*d.Normal(), 3),
			round(12+4*slow, 3),
		}
	}
}

// CSV appends the record as a logger would write it.
func (rec Record) CSV(out []byte) []byte {
	out = append(out, "t_s"...)
	for _, c := range Columns {
		out = append(append(out, ','), c...)
	}
	out = append(out, '\n')
	for i, row := range rec.Rows {
		out = strconv.AppendFloat(out, float64(i)/Rate, 'f', 2, 64)
		for _, v := range row {
			out = strconv.AppendFloat(append(out, ','), v, 'f', 3, 64)
		}
		out = append(out, '\n')
	}
	return out
}

// String names the record.
func (rec Record) String() string {
	return fmt.Sprintf("%s: seed %d, share %.2f, %d trucks, %d rows", rec.Case.Name, rec.Case.Seed, rec.Case.Share, len(rec.Trucks), len(rec.Rows))
}

func round(x float64, decimals int) float64 {
	p := math.Pow10(decimals)
	return math.RoundToEven(x*p)/p + 0 // no minus before a zero
}
