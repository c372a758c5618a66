package units

import (
	"math"
	"strings"
)

// longest is the greatest number of bytes that any quantity is typed with.
const longest = 64

// Parse reads a number with or without a unit and returns it in the coherent
// unit. A number without a unit is in the unit that the family shows. It takes
// decimals with a point or, where it can mean nothing else, a comma; fractions
// (5/16) and mixed numbers (1-1/4, 1 1/4); feet with inches (2'-6"); degrees with
// minutes (12°30'). Everything else is refused with an *Error: nothing typed, no
// number, infinity, more than 64 bytes, the unit of another quantity. Negative
// values are read; use InRange where they make no sense.
func (k Kind) Parse(text string, sys System) (float64, error) {
	if len(text) > longest {
		return 0, k.refuse(text[:longest], "is too long", sys)
	}
	s := tidy(text)
	if s == "" {
		return 0, k.refuse("", "nothing is typed", sys)
	}
	negative := false
	if rest, ok := strings.CutPrefix(s, "-"); ok {
		negative, s = true, strings.TrimLeft(rest, " ")
	} else if rest, ok := strings.CutPrefix(s, "+"); ok {
		s = strings.TrimLeft(rest, " ")
	}
	v, problem := k.read(s, sys, negative)
	if problem != "" {
		return 0, k.refuse(strings.TrimSpace(text), problem, sys)
	}
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return 0, k.refuse(strings.TrimSpace(text), "is too large", sys)
	}
	return v, nil
}

// read takes what follows the sign.
func (k Kind) read(s string, sys System, negative bool) (float64, string) {
	x, rest, problem := number(s)
	if problem != "" {
		return 0, problem
	}
	name := strings.TrimSpace(rest)
	switch {
	case k == Lengths || k == Spans:
		if v, ok, problem := feetInches(x, name); ok {
			if negative {
				v = -v
			}
			return v, problem
		}
	case k == Angles:
		if v, ok, problem := degreesMinutes(x, name); ok {
			if negative {
				v = -v
			}
			return v, problem
		}
	}
	if negative {
		x = -x
	}
	folded := fold(name)
	if name == "" || folded == "" && (k == Angles || k == Temperatures || k == TemperatureSteps) {
		return k.Held(sys, x), "" // 70° leaves open which degrees, as 70 does
	}
	if u, ok := k.find(folded); ok {
		return float64(x*u.scale) + u.offset, ""
	}
	if other, _, _, ok := Find(name); ok {
		return 0, "is " + other.of().want
	}
	return 0, "has an unknown unit"
}

// refuse builds the error for a typed text.
func (k Kind) refuse(typed, problem string, sys System) error {
	d := k.of()
	return &Error{Typed: strings.ToValidUTF8(typed, "�"), Problem: problem, Want: d.want + " such as " + d.example[sys.column()]}
}

// feetInches reads the rest of feet with inches: after 2 comes '-6", ft 6 in.
// ok is false when the text is not of that form; "2 ft2" is not, being an area.
func feetInches(feet float64, rest string) (v float64, ok bool, problem string) {
	tail, found := "", false
	for _, mark := range [...]string{"'", "feet", "foot", "ft"} {
		if tail, found = cutFold(rest, mark); found {
			break
		}
	}
	gap := strings.TrimLeft(tail, " ")
	gap = strings.TrimLeft(strings.TrimPrefix(gap, "-"), " ")
	if !found || gap == "" || !digit(gap[0]) && gap[0] != '.' {
		return 0, false, ""
	}
	x, unit, problem := number(gap)
	if problem != "" {
		return 0, true, problem
	}
	unit = fold(unit)
	if u, known := Lengths.find(unit); unit != "" && (!known || u.label != "in") {
		return 0, true, "needs inches after the feet"
	}
	if unit == "" && rest[0] != '\'' && len(gap) == len(tail) {
		return 0, false, ""
	}
	if x >= 12 {
		return 0, true, "has 12 or more inches after the feet"
	}
	return float64(feet*foot) + float64(x*inch), true, ""
}

// degreesMinutes reads the rest of degrees with minutes and seconds: after 12
// comes °30' or °30'15". ok is false when there are no minutes.
func degreesMinutes(degrees float64, rest string) (v float64, ok bool, problem string) {
	tail, found := strings.CutPrefix(rest, "°")
	if !found {
		if tail, found = cutFold(rest, "deg"); !found {
			return 0, false, ""
		}
	}
	tail = strings.TrimLeft(tail, " ")
	v = degrees
	for i, mark := range [...]string{"'", "\""} {
		if tail == "" {
			return v, i > 0, ""
		}
		x, after, problem := number(tail)
		if problem != "" {
			return 0, i > 0, problem
		}
		tail, found = strings.CutPrefix(strings.TrimLeft(after, " "), mark)
		if !found {
			return 0, true, "needs minutes and seconds as 30' 15\""
		}
		if x >= 60 {
			return 0, true, "has 60 or more minutes or seconds"
		}
		tail = strings.TrimLeft(tail, " ")
		v += x / [...]float64{60, 3600}[i]
	}
	if tail != "" {
		return 0, true, "has an unknown unit"
	}
	return v, true, ""
}

func cutFold(s, prefix string) (string, bool) {
	if len(s) >= len(prefix) && strings.EqualFold(s[:len(prefix)], prefix) {
		return s[len(prefix):], true
	}
	return s, false
}
