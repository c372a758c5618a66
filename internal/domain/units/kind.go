package units

import "strings"

// Kind is a kind of quantity: what it is called, which unit each family of
// units shows it in, and which units a person may type. One table drives all
// printing and parsing, for the types of this package and for plain numbers
// whose kind is only known at run time.
type Kind uint8

// Kinds. The coherent unit that a value of the kind is held in is given behind
// each; it is the unit with scale 1 in the table.
const (
	Numbers          Kind = iota // no unit
	Lengths                      // mm, shown as in or mm
	Spans                        // mm, shown as ft or m
	Areas                        // mm2
	Moduli                       // mm3, section moduli
	Volumes                      // mm3, shown as ft3 or m3
	Inertias                     // mm4
	Forces                       // N
	Stresses                     // MPa
	Moments                      // N mm
	Stiffnesses                  // N/mm, shown as kip/in or kN/mm
	LineLoads                    // N/mm, shown as kip/ft or kN/m
	UnitWeights                  // N/mm3
	Rigidities                   // N mm2
	Angles                       // degrees
	Temperatures                 // degrees Celsius
	TemperatureSteps             // Celsius degrees, a difference of temperatures
	Expansions                   // per Celsius degree
	Strains                      // plain, shown in millionths
	Percents                     // plain, shown in hundredths
	Minutes                      // minutes
	Hours                        // hours
	Days                         // days
	Maturities                   // Celsius degrees times hours
	Masses                       // kg, shown as lb or kg
	Densities                    // kg/mm3, mass of a part in a volume of mix, shown as lb/yd3 or kg/m3
	kindCount
)

// unit is one way to write a kind: value = number*scale + offset.
type unit struct {
	label  string // as printed
	scale  float64
	offset float64
	names  string // what a person may type, separated by spaces, see fold
}

type kind struct {
	name     string    // for a setting's unit and in stored text
	want     string    // for messages: "a length such as ..."
	shown    [2]int    // index into units of the US and SI unit
	decimals [2]int    // default decimals of the US and SI unit; -1 is four significant digits
	example  [2]string // an example a person could type
	units    []unit
}

const (
	inch  = float64(Inch)
	foot  = float64(Foot)
	kip   = float64(Kip)
	ksi   = float64(Ksi)
	pound = kip / 1000

	poundMass = 0.45359237 // kg, exact by definition
)

var kinds = [kindCount]kind{
	Numbers: {name: "number", want: "a plain number", decimals: [2]int{-1, -1}, example: [2]string{"0.9", "0.9"},
		units: []unit{{scale: 1}}},
	Lengths: {name: "length", want: "a length", shown: [2]int{0, 1}, decimals: [2]int{3, 1}, example: [2]string{"5/16 in", "7.9 mm"},
		units: lengthUnits},
	Spans: {name: "span", want: "a length", shown: [2]int{2, 3}, decimals: [2]int{2, 3}, example: [2]string{"82.5 ft", "25.1 m"},
		units: lengthUnits},
	Areas: {name: "area", want: "an area", shown: [2]int{0, 1}, decimals: [2]int{2, 0}, example: [2]string{"1.25 in2", "806 mm2"},
		units: []unit{
			{label: "in²", scale: inch * inch, names: "in2 sqin"},
			{label: "mm²", scale: 1, names: "mm2"},
			{label: "ft²", scale: foot * foot, names: "ft2 sqft sf"},
			{label: "cm²", scale: 100, names: "cm2"},
			{label: "m²", scale: 1e6, names: "m2"},
		}},
	Moduli: {name: "modulus", want: "a section modulus", shown: [2]int{0, 1}, decimals: [2]int{1, 1}, example: [2]string{"504 in3", "8259 10^3 mm3"},
		units: []unit{
			{label: "in³", scale: inch * inch * inch, names: "in3"},
			{label: "×10³ mm³", scale: 1e3, names: "10^3mm3 cm3"},
			{label: "mm³", scale: 1, names: "mm3"},
		}},
	Volumes: {name: "volume", want: "a volume", shown: [2]int{0, 1}, decimals: [2]int{2, 3}, example: [2]string{"3.5 ft3", "0.099 m3"},
		units: []unit{
			{label: "ft³", scale: foot * foot * foot, names: "ft3 cuft cf"},
			{label: "m³", scale: 1e9, names: "m3"},
			{label: "yd³", scale: 27 * foot * foot * foot, names: "yd3 cuyd cy"},
			{label: "L", scale: 1e6, names: "l litre litres liter liters"},
			{label: "in³", scale: inch * inch * inch, names: "in3"},
			{label: "mm³", scale: 1, names: "mm3"},
		}},
	Inertias: {name: "inertia", want: "a second moment of area", shown: [2]int{0, 1}, decimals: [2]int{1, 2}, example: [2]string{"9040 in4", "3763 10^6 mm4"},
		units: []unit{
			{label: "in⁴", scale: inch * inch * inch * inch, names: "in4"},
			{label: "×10⁶ mm⁴", scale: 1e6, names: "10^6mm4"},
			{label: "mm⁴", scale: 1, names: "mm4"},
		}},
	Forces: {name: "force", want: "a force", shown: [2]int{0, 1}, decimals: [2]int{1, 1}, example: [2]string{"40 kip", "178 kN"},
		units: []unit{
			{label: "kip", scale: kip, names: "kip kips k"},
			{label: "kN", scale: 1000, names: "kn"},
			{label: "N", scale: 1, names: "n"},
			{label: "lbf", scale: pound, names: "lbf lb lbs"},
		}},
	Stresses: {name: "stress", want: "a stress", shown: [2]int{0, 1}, decimals: [2]int{1, 1}, example: [2]string{"22.5 ksi", "155 MPa"},
		units: []unit{
			{label: "ksi", scale: ksi, names: "ksi"},
			{label: "MPa", scale: 1, names: "mpa n/mm2"},
			{label: "psi", scale: ksi / 1000, names: "psi"},
			{label: "GPa", scale: 1000, names: "gpa"},
			{label: "kPa", scale: 0.001, names: "kpa"},
			{label: "psf", scale: ksi / 144000, names: "psf"},
		}},
	Moments: {name: "moment", want: "a moment", shown: [2]int{0, 1}, decimals: [2]int{1, 1}, example: [2]string{"850 kip-ft", "1150 kN-m"},
		units: []unit{
			{label: "kip·ft", scale: kip * foot, names: "kip-ft k-ft ft-kip ft-k kipft"},
			{label: "kN·m", scale: 1e6, names: "kn-m knm"},
			{label: "kip·in", scale: kip * inch, names: "kip-in k-in in-kip in-k kipin"},
			{label: "N·mm", scale: 1, names: "n-mm nmm"},
			{label: "N·m", scale: 1000, names: "n-m nm"},
		}},
	Stiffnesses: {name: "stiffness", want: "a stiffness", shown: [2]int{0, 1}, decimals: [2]int{0, 1}, example: [2]string{"1200 kip/in", "210 kN/mm"},
		units: perLengthUnits},
	LineLoads: {name: "line load", want: "a load per length", shown: [2]int{2, 3}, decimals: [2]int{3, 2}, example: [2]string{"0.64 kip/ft", "9.3 kN/m"},
		units: perLengthUnits},
	UnitWeights: {name: "unit weight", want: "a unit weight", shown: [2]int{0, 1}, decimals: [2]int{3, 1}, example: [2]string{"0.150 kcf", "23.6 kN/m3"},
		units: []unit{
			{label: "kcf", scale: kip / (foot * foot * foot), names: "kcf kip/ft3"},
			{label: "kN/m³", scale: 1e-6, names: "kn/m3"},
			{label: "pcf", scale: pound / (foot * foot * foot), names: "pcf lb/ft3 lbf/ft3"},
			{label: "N/mm³", scale: 1, names: "n/mm3"},
		}},
	Rigidities: {name: "rigidity", want: "a flexural rigidity", shown: [2]int{0, 1}, decimals: [2]int{-1, -1}, example: [2]string{"2.6e8 kip-in2", "7.5e5 kN-m2"},
		units: []unit{
			{label: "kip·in²", scale: kip * inch * inch, names: "kip-in2"},
			{label: "kN·m²", scale: 1e9, names: "kn-m2"},
			{label: "N·mm²", scale: 1, names: "n-mm2"},
		}},
	Angles: {name: "angle", want: "an angle in degrees", decimals: [2]int{1, 1}, example: [2]string{"30", "30"},
		units: []unit{
			{label: "°", scale: 1, names: "deg degree degrees"},
			{label: "rad", scale: degPerRad, names: "rad radian radians"},
		}},
	Temperatures: {name: "temperature", want: "a temperature", shown: [2]int{0, 1}, decimals: [2]int{0, 1}, example: [2]string{"70 F", "21 C"},
		units: []unit{
			{label: "°F", scale: 5.0 / 9, offset: -160.0 / 9, names: "f degf"},
			{label: "°C", scale: 1, names: "c degc"},
			{label: "K", scale: 1, offset: -273.15, names: "kelvin"},
		}},
	TemperatureSteps: {name: "temperature step", want: "a difference of temperature", shown: [2]int{0, 1}, decimals: [2]int{0, 1}, example: [2]string{"20 F", "11 C"},
		units: []unit{
			{label: "°F", scale: 5.0 / 9, names: "f degf ddegf"},
			{label: "°C", scale: 1, names: "c degc ddegc kelvin"},
		}},
	Expansions: {name: "expansion", want: "a coefficient of expansion", shown: [2]int{0, 1}, decimals: [2]int{2, 2}, example: [2]string{"6.5 10^-6/F", "11.7 10^-6/C"},
		units: []unit{
			{label: "×10⁻⁶/°F", scale: 1e-6 * 9 / 5, names: "10^-6/f"},
			{label: "×10⁻⁶/°C", scale: 1e-6, names: "10^-6/c"},
			{label: "/°C", scale: 1, names: "/c"},
		}},
	Strains: {name: "strain", want: "a strain in millionths", decimals: [2]int{0, 0}, example: [2]string{"350", "350"},
		units: []unit{
			{label: "µε", scale: 1e-6, names: "ue microstrain"},
			{label: "", scale: 1, names: "mm/mm in/in"},
		}},
	Percents: {name: "percent", want: "a percentage", decimals: [2]int{1, 1}, example: [2]string{"2.5", "2.5"},
		units: []unit{
			{label: "%", scale: 0.01, names: "% percent"},
		}},
	Minutes: {name: "minutes", want: "minutes", decimals: [2]int{0, 0}, example: [2]string{"45", "45"},
		units: []unit{{label: "min", scale: 1, names: "min mins minute minutes"}, {label: "h", scale: 60, names: "h hr hrs hour hours"}}},
	Hours: {name: "hours", want: "hours", decimals: [2]int{1, 1}, example: [2]string{"36", "36"},
		units: []unit{{label: "h", scale: 1, names: "h hr hrs hour hours"}, {label: "d", scale: 24, names: "d day days"}, {label: "min", scale: 1.0 / 60, names: "min mins minute minutes"}}},
	Days: {name: "days", want: "days", decimals: [2]int{1, 1}, example: [2]string{"28", "28"},
		units: []unit{{label: "d", scale: 1, names: "d day days"}, {label: "h", scale: 1.0 / 24, names: "h hr hrs hour hours"}}},
	Maturities: {name: "maturity", want: "a maturity", shown: [2]int{0, 1}, decimals: [2]int{0, 0}, example: [2]string{"1500 F-h", "833 C-h"},
		units: []unit{
			{label: "°F·h", scale: 5.0 / 9, names: "f-h degf-h"},
			{label: "°C·h", scale: 1, names: "c-h degc-h"},
		}},
	Masses: {name: "mass", want: "a mass", shown: [2]int{0, 1}, decimals: [2]int{1, 2}, example: [2]string{"83.1 lb", "37.7 kg"},
		units: []unit{
			{label: "lb", scale: poundMass, names: "lb lbs lbm pound pounds"},
			{label: "kg", scale: 1, names: "kg"},
			{label: "g", scale: 0.001, names: "g gram grams"},
			{label: "t", scale: 1000, names: "t tonne tonnes"},
		}},
	// The mix of record is printed by the cubic yard and the cubic metre.
	Densities: {name: "density", want: "a mass in a volume", shown: [2]int{0, 1}, decimals: [2]int{1, 1}, example: [2]string{"263 lb/yd3", "156 kg/m3"},
		units: []unit{
			{label: "lb/yd³", scale: poundMass / (27 * foot * foot * foot), names: "lb/yd3 pcy"},
			{label: "kg/m³", scale: 1e-9, names: "kg/m3"},
			{label: "lb/ft³", scale: poundMass / (foot * foot * foot), names: "lb/ft3 lbm/ft3 pcf"},
			{label: "kg/mm³", scale: 1, names: "kg/mm3"},
		}},
}

const degPerRad = 57.29577951308232

var lengthUnits = []unit{
	{label: "in", scale: inch, names: "in inch inches \""},
	{label: "mm", scale: 1, names: "mm"},
	{label: "ft", scale: foot, names: "ft foot feet '"},
	{label: "m", scale: 1000, names: "m"},
	{label: "cm", scale: 10, names: "cm"},
}

var perLengthUnits = []unit{
	{label: "kip/in", scale: kip / inch, names: "kip/in k/in"},
	{label: "kN/mm", scale: 1000, names: "kn/mm"},
	{label: "kip/ft", scale: kip / foot, names: "kip/ft k/ft klf"},
	{label: "kN/m", scale: 1, names: "kn/m n/mm"},
	{label: "lbf/ft", scale: pound / foot, names: "lb/ft lbf/ft plf"},
	{label: "lbf/in", scale: pound / inch, names: "lb/in lbf/in"},
}

// KindNamed returns the kind with the given name, for example "length".
func KindNamed(name string) (Kind, bool) {
	for k := range kinds {
		if kinds[k].name == name {
			return Kind(k), true
		}
	}
	return Numbers, false
}

// of returns the kind's row. An unknown kind reads as a plain number.
func (k Kind) of() *kind {
	if k >= kindCount {
		k = Numbers
	}
	return &kinds[k]
}

// Name is the kind's name, for example "length".
func (k Kind) Name() string { return k.of().name }

// Label is the unit that the family shows the kind in, for example "in".
// A plain number has an empty label.
func (k Kind) Label(sys System) string { return k.shown(sys).label }

func (k Kind) shown(sys System) *unit {
	d := k.of()
	return &d.units[d.shown[sys.column()]]
}

// Shown converts a value in the coherent unit to the unit that the family
// shows, unrounded.
func (k Kind) Shown(sys System, v float64) float64 {
	u := k.shown(sys)
	return (v - u.offset) / u.scale
}

// Held converts a number in the unit that the family shows to the coherent
// unit: the inverse of Shown.
func (k Kind) Held(sys System, shown float64) float64 {
	u := k.shown(sys)
	return float64(shown*u.scale) + u.offset
}

// find returns the unit of the kind that goes by the folded name.
func (k Kind) find(name string) (*unit, bool) {
	d := k.of()
	for i := range d.units {
		if hasWord(d.units[i].names, name) {
			return &d.units[i], true
		}
	}
	return nil, false
}

func hasWord(list, word string) bool {
	for w := range strings.FieldsSeq(list) {
		if w == word {
			return true
		}
	}
	return false
}

// Find returns the kind and the conversion of a unit by its typed name:
// held = number*scale + offset. Where a name belongs to several kinds, the kind
// that holds its values in just that unit comes first (h is hours, though minutes
// may be typed in h), then the first in the order of the constants (in3 is a
// section modulus). It serves constants in formulas.
func Find(name string) (k Kind, scale, offset float64, ok bool) {
	folded := fold(name)
	for k := range kindCount {
		if u, found := k.find(folded); found && u.scale == 1 && u.offset == 0 {
			return k, 1, 0, true
		}
	}
	for k := range kindCount {
		if u, found := k.find(folded); found {
			return k, u.scale, u.offset, true
		}
	}
	return Numbers, 0, 0, false
}
