package units

// Quantity is one of the typed quantities of this package.
type Quantity interface {
	~float64
	Kind() Kind
}

// Kind of each type; it drives Format, Exact and Parse.

func (Length) Kind() Kind      { return Lengths }
func (Force) Kind() Kind       { return Forces }
func (Stress) Kind() Kind      { return Stresses }
func (Area) Kind() Kind        { return Areas }
func (Volume) Kind() Kind      { return Volumes }
func (Inertia) Kind() Kind     { return Inertias }
func (Moment) Kind() Kind      { return Moments }
func (Stiffness) Kind() Kind   { return Stiffnesses }
func (Angle) Kind() Kind       { return Angles }
func (Temperature) Kind() Kind { return Temperatures }
func (Mass) Kind() Kind        { return Masses }

// Format prints a quantity with its unit in the family's unit, rounded to the
// given number of decimals; fewer than zero means the kind's usual precision.

func (q Length) Format(sys System, decimals int) string      { return Format(q, sys, decimals) }
func (q Force) Format(sys System, decimals int) string       { return Format(q, sys, decimals) }
func (q Stress) Format(sys System, decimals int) string      { return Format(q, sys, decimals) }
func (q Area) Format(sys System, decimals int) string        { return Format(q, sys, decimals) }
func (q Volume) Format(sys System, decimals int) string      { return Format(q, sys, decimals) }
func (q Inertia) Format(sys System, decimals int) string     { return Format(q, sys, decimals) }
func (q Moment) Format(sys System, decimals int) string      { return Format(q, sys, decimals) }
func (q Stiffness) Format(sys System, decimals int) string   { return Format(q, sys, decimals) }
func (q Angle) Format(sys System, decimals int) string       { return Format(q, sys, decimals) }
func (q Temperature) Format(sys System, decimals int) string { return Format(q, sys, decimals) }
func (q Mass) Format(sys System, decimals int) string        { return Format(q, sys, decimals) }

// Exact prints the number alone, in the family's unit, as it was typed: see
// Kind.Exact.

func (q Length) Exact(sys System) string      { return Exact(q, sys) }
func (q Force) Exact(sys System) string       { return Exact(q, sys) }
func (q Stress) Exact(sys System) string      { return Exact(q, sys) }
func (q Area) Exact(sys System) string        { return Exact(q, sys) }
func (q Volume) Exact(sys System) string      { return Exact(q, sys) }
func (q Inertia) Exact(sys System) string     { return Exact(q, sys) }
func (q Moment) Exact(sys System) string      { return Exact(q, sys) }
func (q Stiffness) Exact(sys System) string   { return Exact(q, sys) }
func (q Angle) Exact(sys System) string       { return Exact(q, sys) }
func (q Temperature) Exact(sys System) string { return Exact(q, sys) }
func (q Mass) Exact(sys System) string        { return Exact(q, sys) }

// Format prints a quantity with its unit; see Kind.Format.
func Format[Q Quantity](q Q, sys System, decimals int) string {
	return q.Kind().Format(float64(q), sys, decimals)
}

// Exact prints the number of a quantity for an edit field; see Kind.Exact.
func Exact[Q Quantity](q Q, sys System) string { return q.Kind().Exact(float64(q), sys) }

// Parse reads a quantity; see Kind.Parse.
func Parse[Q Quantity](text string, sys System) (Q, error) {
	var q Q
	v, err := q.Kind().Parse(text, sys)
	return Q(v), err
}

// ParseLength reads a length, for example "5/16", "1-1/4 in", "2'-6\"", "7.9 mm".
func ParseLength(text string, sys System) (Length, error) { return Parse[Length](text, sys) }

// ParseForce reads a force, for example "40 kip", "178 kN".
func ParseForce(text string, sys System) (Force, error) { return Parse[Force](text, sys) }

// ParseStress reads a stress, for example "22.5 ksi", "155 MPa", "3000 psi".
func ParseStress(text string, sys System) (Stress, error) { return Parse[Stress](text, sys) }

// ParseArea reads an area, for example "1.25 in2".
func ParseArea(text string, sys System) (Area, error) { return Parse[Area](text, sys) }

// ParseVolume reads a volume, for example "3.5 ft3", "99 L".
func ParseVolume(text string, sys System) (Volume, error) { return Parse[Volume](text, sys) }

// ParseInertia reads a second moment of area, for example "9040 in4".
func ParseInertia(text string, sys System) (Inertia, error) { return Parse[Inertia](text, sys) }

// ParseMoment reads a moment, for example "850 kip-ft".
func ParseMoment(text string, sys System) (Moment, error) { return Parse[Moment](text, sys) }

// ParseStiffness reads a stiffness, for example "1200 kip/in".
func ParseStiffness(text string, sys System) (Stiffness, error) { return Parse[Stiffness](text, sys) }

// ParseAngle reads an angle, for example "30", "30 deg", "12°30'".
func ParseAngle(text string, sys System) (Angle, error) { return Parse[Angle](text, sys) }

// ParseTemperature reads a temperature, for example "70 F", "21 °C".
func ParseTemperature(text string, sys System) (Temperature, error) {
	return Parse[Temperature](text, sys)
}
