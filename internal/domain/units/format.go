package units

import (
	"math"
	"strconv"
	"strings"
)

// nbsp holds a number and its unit on one line.
const nbsp = "\u00a0"

// Format prints a value held in the coherent unit with the unit of the family,
// rounded to the given number of decimals; fewer than zero means the kind's
// usual precision. A value that is not finite prints as "∞", "−∞" or "–".
func (k Kind) Format(v float64, sys System, decimals int) string {
	return join(k.Figure(v, sys, decimals), k.Label(sys))
}

// Figure is Format without the unit, for a table whose heading carries it.
func (k Kind) Figure(v float64, sys System, decimals int) string {
	if s, odd := odd(v); odd {
		return s
	}
	if decimals < 0 {
		decimals = k.of().decimals[sys.column()]
	}
	x := k.Shown(sys, v)
	if decimals < 0 {
		return Significant(x, 4)
	}
	return fixed(x, decimals)
}

// Working prints a value with its unit for a line of calculation: at least the
// kind's usual decimals, and enough of them for four significant digits, so that
// a reader can follow the arithmetic by hand.
func (k Kind) Working(v float64, sys System) string {
	return join(k.WorkingFigure(v, sys), k.Label(sys))
}

// WorkingFigure is Working without the unit.
func (k Kind) WorkingFigure(v float64, sys System) string {
	if s, odd := odd(v); odd {
		return s
	}
	decimals := k.of().decimals[sys.column()]
	x := k.Shown(sys, v)
	if decimals < 0 || x == 0 {
		return Significant(x, 4)
	}
	need := 3 - int(math.Floor(math.Log10(math.Abs(x))))
	if need > 9 {
		return Significant(x, 4)
	}
	s := fixed(x, max(decimals, need))
	for range need - decimals { // digits beyond the usual ones are kept only where they say something
		s = strings.TrimSuffix(s, "0")
	}
	return strings.TrimSuffix(s, ".")
}

// fixed prints x with a number of decimals, halves away from zero as people
// round: 0.3125 to 0.313. The nudge lifts a half over the edge, also one that two
// conversions left a little below it; it is far smaller than any digit shown.
func fixed(x float64, decimals int) string {
	if s, odd := odd(x); odd {
		return s
	}
	if nudged := x * (1 + 4e-13); !math.IsInf(nudged, 0) {
		x = nudged
	}
	return sign(strconv.FormatFloat(x, 'f', min(decimals, 15), 64))
}

// Exact prints the number alone, in the unit of the family, as it was typed:
// a value typed as 0.3125 in is held as 7.9375 mm and comes back as 0.3125.
// Ten significant digits are kept, more than any reading carries and fewer than
// the noise of two conversions. A value that is not finite gives an empty text,
// so that an edit field asks again.
func (k Kind) Exact(v float64, sys System) string {
	if _, odd := odd(v); odd {
		return ""
	}
	x := k.Shown(sys, v)
	if k == Temperatures && math.Abs(x) < 1e-9 {
		return "0" // what two conversions leave of 32 °F or 0 °F
	}
	return plain(x, 10)
}

// Significant prints x with at most n significant digits and no trailing zeros;
// very large and very small numbers are written with a power of ten.
func Significant(x float64, n int) string {
	if s, odd := odd(x); odd {
		return s
	}
	if a := math.Abs(x); a != 0 && (a < 1e-4 || a >= 1e9) {
		mantissa, exponent, _ := strings.Cut(strconv.FormatFloat(x, 'e', n-1, 64), "e")
		return sign(PowerOfTen(trim(mantissa) + "e" + exponent))
	}
	return sign(plain(x, n))
}

// PowerOfTen prints a number that is written with an exponent the way a book
// does: 44e8 as 44×10⁸. Any other text comes back as it is.
func PowerOfTen(s string) string {
	mantissa, exponent, found := strings.Cut(s, "e")
	e, err := strconv.Atoi(exponent)
	if !found || err != nil {
		return s
	}
	return mantissa + "×10" + raise(strconv.Itoa(e))
}

// plain rounds to n significant digits and prints without an exponent.
func plain(x float64, n int) string {
	r, err := strconv.ParseFloat(strconv.FormatFloat(x, 'e', n-1, 64), 64)
	if err != nil {
		r = x
	}
	if r == 0 {
		return "0"
	}
	return strconv.FormatFloat(r, 'f', -1, 64)
}

func trim(s string) string {
	if !strings.Contains(s, ".") {
		return s
	}
	return strings.TrimRight(strings.TrimRight(s, "0"), ".")
}

// sign prints a true minus and never a negative zero.
func sign(s string) string {
	rest, negative := strings.CutPrefix(s, "-")
	if !negative {
		return s
	}
	if strings.Trim(rest, "0.") == "" {
		return rest
	}
	return "−" + rest
}

func raise(s string) string {
	return strings.NewReplacer("-", "⁻", "0", "⁰", "1", "¹", "2", "²", "3", "³", "4", "⁴",
		"5", "⁵", "6", "⁶", "7", "⁷", "8", "⁸", "9", "⁹").Replace(s)
}

func odd(v float64) (string, bool) {
	switch {
	case math.IsNaN(v):
		return "–", true
	case math.IsInf(v, 1):
		return "∞", true
	case math.IsInf(v, -1):
		return "−∞", true
	}
	return "", false
}

func join(figure, label string) string {
	switch label {
	case "":
		return figure
	case "°", "%":
		return figure + label
	}
	return figure + nbsp + label
}
