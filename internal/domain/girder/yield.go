package girder

import (
	"strconv"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/units"
)

// Strength is the yield and tensile strength of a steel with its origin.
type Strength struct {
	Fy, Fu units.Stress
	Origin string
	Source string
	Tag    basis.Tag
}

// StrengthByYear is the strength to assume where neither drawing, mill report nor
// coupon names the steel, by the year in which the bridge was built. The values
// are settings of the basis.
func StrengthByYear(b basis.Basis, year int) Strength {
	fy, fu := basis.SteelFySince1963, basis.SteelFuSince1963
	switch {
	case year < 1905:
		fy, fu = basis.SteelFyBefore1905, basis.SteelFuBefore1905
	case year < 1936:
		fy, fu = basis.SteelFyBefore1936, basis.SteelFuBefore1936
	case year <= 1963:
		fy, fu = basis.SteelFyBefore1963, basis.SteelFuBefore1963
	}
	def, _ := basis.Lookup(fy)
	return Strength{Fy: units.Stress(b.Value(fy)), Fu: units.Stress(b.Value(fu)),
		Origin: "era default, built " + strconv.Itoa(year), Source: def.Source, Tag: def.Tag}
}

// Grade is a steel by the name on a drawing.
type Grade struct {
	Name string
	Fy   basis.Key
}

// Grades lists the steels that an old bridge drawing may name, oldest first.
func Grades() []Grade {
	return []Grade{
		{"A7", basis.SteelFyA7}, {"A94", basis.SteelFyA94}, {"A373", basis.SteelFyA373}, {"A36", basis.SteelFyA36},
		{"A242", basis.SteelFyA242}, {"A440", basis.SteelFyA242}, {"A441", basis.SteelFyA242},
		{"A572 Gr 50", basis.SteelFyA572}, {"A588", basis.SteelFyA572},
		{"M270 Gr 36", basis.SteelFyGr36}, {"M270 Gr 50", basis.SteelFyGr50}, {"M270 Gr 50W", basis.SteelFyGr50},
		{"M270 Gr 50S", basis.SteelFyGr50}, {"M270 HPS 70W", basis.SteelFyHPS70},
	}
}

// StrengthByGrade is the yield strength of a grade. It gives no tensile strength.
func StrengthByGrade(b basis.Basis, name string) (Strength, bool) {
	for _, g := range Grades() {
		if folded(g.Name) == folded(name) {
			def, _ := basis.Lookup(g.Fy)
			return Strength{Fy: units.Stress(b.Value(g.Fy)), Origin: "grade " + g.Name, Source: def.Source, Tag: def.Tag}, true
		}
	}
	return Strength{}, false
}
