package units

import (
	"regexp"
	"strconv"
	"strings"
)

// Words of a rule are made where nobody knows who will read them: they carry a
// quantity in the coherent unit ("they differ by 2.34 mm"), or in both families
// ("0.625 in (15.9 mm)"). Reword is for the edge, where the reader is known.

// wordNumber is a number of a text; several of one unit share it: 0.02 to 0.34 mm.
const wordNumber = `[−-]?\d+(?:,\d{3})*(?:\.\d+)?`
const wordNumbers = wordNumber + `(?:(?: to | and | or |, )` + wordNumber + `)*`

var (
	single = regexp.MustCompile(wordNumber)
	// pair is a quantity in US customary units with the same in SI behind it.
	pair  = regexp.MustCompile(`(` + wordNumbers + `[ \x{a0}](?:in\.?|ft|kip|ksi|psi|kip/ft))[ \x{a0}]\((` + wordNumbers + `[ \x{a0}](?:mm|m|kN|MPa|kN/m))\)`)
	si    = regexp.MustCompile(`(` + wordNumbers + `)([ \x{a0}])(mm|MPa|kN/m|kN)\b`)
	us    = regexp.MustCompile(`(` + wordNumbers + `)([ \x{a0}])(kip/ft|kip|ksi|ft)\b`)
	inDot = regexp.MustCompile(`(` + wordNumbers + `)([ \x{a0}])(in)([,;:)]|\. |\.$|$)`)
)

// kinds of the units that occur in words.
var wordKinds = map[string]Kind{"mm": Lengths, "in": Lengths, "ft": Spans, "MPa": Stresses, "ksi": Stresses, "kN": Forces, "kip": Forces, "kN/m": LineLoads, "kip/ft": LineLoads}

// Reword gives the quantities of a text in the units of the reader, to three
// significant figures where they had to be converted. What is given in both
// families keeps the reader's own figures. Everything else stays as it is; the unit
// in is only taken for inches where a phrase ends behind it.
func Reword(text string, sys System) string {
	if !strings.ContainsAny(text, "0123456789") {
		return text
	}
	if sys == SI {
		text = pair.ReplaceAllString(text, "$2")
		text = us.ReplaceAllStringFunc(text, func(m string) string { return convert(us.FindStringSubmatch(m), US, SI) })
		return inDot.ReplaceAllStringFunc(text, func(m string) string {
			s := inDot.FindStringSubmatch(m)
			return convert(s, US, SI) + s[4]
		})
	}
	text = pair.ReplaceAllString(text, "$1")
	return si.ReplaceAllStringFunc(text, func(m string) string { return convert(si.FindStringSubmatch(m), SI, US) })
}

// convert turns the numbers of a match from one family to the other. A match is the
// numbers, the space and the unit.
func convert(m []string, from, to System) string {
	k := wordKinds[m[3]]
	per := k.Shown(to, 1)
	if m[3] == "ft" {
		k = Lengths // a distance in words is short: metres of it would hide millimetres
		per = Lengths.Shown(to, 1)
	}
	one := k.Shown(from, 1)
	if m[3] == "ft" {
		one = Spans.Shown(from, 1)
	}
	out := single.ReplaceAllStringFunc(m[1], func(s string) string {
		v, err := strconv.ParseFloat(strings.ReplaceAll(strings.ReplaceAll(s, "−", "-"), ",", ""), 64)
		if err != nil {
			return s
		}
		return Significant(v/one*per, 3)
	})
	return out + m[2] + k.Label(to)
}
