package demo

import (
	"math"
	"time"
)

// heat is how warm the concrete of one casting, its specimens and the air were: what
// the loggers wrote down and what the strengths of its field-cured specimens follow.
type heat struct {
	key     string
	covered time.Time // the last batch was placed and the sensors covered
	mix     float64   // degrees Fahrenheit
}

// coldSpell is when the heating under the covers of a casting failed, in hours after
// it was placed.
var coldSpell = map[string][2]float64{"6N 0423": {20, 88}}

// rises are the peaks of hydration over the surroundings at each place of a sensor, in
// Fahrenheit degrees.
var rises = map[string]float64{"coldest": 14, "form": 24, "core": 42, "specimen": 16}

// outside is the temperature of the air in degrees Fahrenheit: the season, the weather
// of the days and the hour.
func outside(at time.Time) float64 {
	at = at.In(zone)
	month := float64(at.Month()) + float64(at.Day())/30
	noon := time.Date(at.Year(), at.Month(), at.Day(), 12, 0, 0, 0, zone)
	draw := func(d time.Time) float64 { return between(-4, 4, d.Format(time.DateOnly), "air") }
	part := at.Sub(noon).Hours() / 24
	other := noon.AddDate(0, 0, 1)
	if part < 0 {
		part, other = -part, noon.AddDate(0, 0, -1)
	}
	weather := draw(noon)*(1-part) + draw(other)*part
	hour := float64(at.Hour()) + float64(at.Minute())/60
	return 40 + 8.5*(month-3) + weather + 6*math.Cos(2*math.Pi*(hour-15)/24)
}

// at is the temperature at the place of a sensor in degrees Fahrenheit: the mix takes
// on the warmth under the covers, which are heated in the cold, and warms itself.
func (h heat) at(place string, when time.Time) float64 {
	air := outside(when)
	if place == "air" {
		return air
	}
	hours := max(0, when.Sub(h.covered).Hours()) // before, the sensor lies in the fresh mix
	around := max(70, air+5) + 1.2*math.Cos(2*math.Pi*(hours+3)/24)
	if s, ok := coldSpell[h.key]; ok && hours > s[0] {
		cold := 1 - math.Exp(-(min(hours, s[1])-s[0])/5)
		if hours > s[1] {
			cold *= math.Exp(-(hours - s[1]) / 4)
		}
		around += cold * (air - 4 - around)
	}
	const peak = 17. // hours
	x := hours / peak
	shape := math.Pow(x, 2.2) * math.Exp(2.2*(1-x))
	rise := rises[place] * between(0.94, 1.06, h.key, place, "rise")
	return around + (h.mix-around)*math.Exp(-hours/6) + rise*shape
}

// hottest is the greatest temperature at a place in the first days, in degrees
// Fahrenheit, and when it was, in hours.
func (h heat) hottest(place string) (fahrenheit, hours float64) {
	for q := range 4 * 24 {
		if t := h.at(place, h.covered.Add(time.Duration(q)*30*minute)); t > fahrenheit {
			fahrenheit, hours = t, float64(q)/2
		}
	}
	return fahrenheit, hours
}

// age is the equivalent age at a place in days at 23 degrees Celsius, by the
// exponential law that the design basis starts from.
func (h heat) age(place string, when time.Time) float64 {
	const step = 15 * time.Minute
	const q, reference = 5000, 273.15 + 23
	sum := 0.0
	for t := h.covered; t.Before(when); t = t.Add(step) {
		kelvin := (h.at(place, t.Add(step/2))-32)/1.8 + 273.15
		sum += min(step, when.Sub(t)).Hours() / 24 * math.Exp(-q*(1/kelvin-1/reference))
	}
	return sum
}

// gained is the strength at an equivalent age in days, in ksi: a law of the shape that
// untreated mixes follow, with the plateau of this invented one.
func gained(days float64) float64 {
	if days <= 0.9 {
		return 0
	}
	return 24.7 * (1 - math.Exp(-math.Pow((days-0.9)/3, 0.6)))
}
