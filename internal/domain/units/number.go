package units

import (
	"strconv"
	"strings"
)

// tidy trims a typed text and puts its typographic signs into plain ones.
func tidy(s string) string {
	return strings.TrimSpace(tidier.Replace(s))
}

var tidier = strings.NewReplacer(
	"\u00a0", " ", "\u202f", " ", "\u2009", " ", "\t", " ",
	"−", "-", "–", "-", "‐", "-", "‑", "-",
	"″", "\"", "”", "\"", "“", "\"", "''", "\"", "′", "'", "’", "'", "‘", "'", "º", "°", "⁄", "/",
	"½", " 1/2", "¼", " 1/4", "¾", " 3/4", "⅛", " 1/8", "⅜", " 3/8", "⅝", " 5/8", "⅞", " 7/8",
)

// fold puts a unit into the form of the names in the table: small letters, no
// spaces, superscripts as digits, products with a hyphen.
func fold(name string) string {
	s := folder.Replace(strings.ToLower(strings.TrimSpace(name)))
	if rest, ok := strings.CutPrefix(s, "x10^"); ok {
		s = "10^" + rest
	}
	if !strings.HasPrefix(s, "10^") {
		s = strings.ReplaceAll(s, "^", "")
	}
	return strings.TrimSuffix(s, ".")
}

var folder = strings.NewReplacer(" ", "", "°", "", "10³", "10^3", "10⁶", "10^6", "10⁻⁶", "10^-6", "²", "2", "³", "3", "⁴", "4",
	"·", "-", "⋅", "-", "*", "-", "×", "x", "µ", "u", "μ", "u", "ε", "e")

// number reads the number at the start of s and returns what follows it:
// digits with an optional decimal mark and exponent, a fraction, or a whole
// number with a fraction after a space or a hyphen. The sign is the caller's.
func number(s string) (v float64, rest string, problem string) {
	s = strings.TrimLeft(s, " ")
	end := 0
	for end < len(s) && (digit(s[end]) || s[end] == '.' || s[end] == ',') {
		end++
	}
	text, rest := s[:end], s[end:]
	if text == "" {
		return 0, s, "is not a number"
	}
	whole := strings.Trim(text, "0123456789") == ""
	if whole {
		if d, after, ok := fraction(rest, "/"); ok {
			return divide(text, d, after)
		}
		if n, after, ok := mixed(rest); ok {
			if d, after, ok := fraction(after, "/"); ok {
				part, rest, problem := divide(n, d, after)
				w, err := strconv.ParseFloat(text, 64)
				if problem == "" && (err != nil || part >= 1) {
					problem = "has a fraction that is not less than one"
				}
				return w + part, rest, problem
			}
		}
	}
	digits, problem := decimal(text)
	if problem != "" {
		return 0, rest, problem
	}
	if e := exponent(rest); e > 0 {
		digits, rest = digits+rest[:e], rest[e:]
	}
	v, err := strconv.ParseFloat(digits, 64)
	if err != nil {
		return 0, rest, "is not a number, or too large"
	}
	return v, rest, ""
}

// fraction reads mark and the digits after it.
func fraction(s, mark string) (digits, rest string, ok bool) {
	t, ok := strings.CutPrefix(strings.TrimLeft(s, " "), mark)
	if !ok {
		return "", s, false
	}
	t = strings.TrimLeft(t, " ")
	end := 0
	for end < len(t) && digit(t[end]) {
		end++
	}
	return t[:end], t[end:], end > 0
}

// mixed reads the separator of a mixed number and the digits after it.
func mixed(s string) (digits, rest string, ok bool) {
	t := strings.TrimLeft(s, " ")
	if u, cut := strings.CutPrefix(t, "-"); cut {
		t = strings.TrimLeft(u, " ")
	} else if len(t) == len(s) {
		return "", s, false
	}
	end := 0
	for end < len(t) && digit(t[end]) {
		end++
	}
	return t[:end], t[end:], end > 0
}

func divide(numerator, denominator, rest string) (float64, string, string) {
	n, err1 := strconv.ParseFloat(numerator, 64)
	d, err2 := strconv.ParseFloat(denominator, 64)
	if err1 != nil || err2 != nil || d == 0 {
		return 0, rest, "has a fraction that is no number"
	}
	return n / d, rest, ""
}

// decimal turns digits with points and commas into what strconv reads. A comma
// is a decimal mark only where it can't part thousands: 7,9 and 0,312 are read,
// 1,234 is refused, 1,234.5 and 1.234,5 are read.
func decimal(s string) (string, string) {
	points, commas := strings.Count(s, "."), strings.Count(s, ",")
	switch {
	case commas == 0 && points <= 1:
		return s, ""
	case commas == 0:
		return "", "has more than one decimal point"
	case commas == 1 && points == 0:
		whole, part, _ := strings.Cut(s, ",")
		if len(part) == 3 && len(whole) >= 1 && len(whole) <= 3 && whole[0] != '0' {
			return "", "could be read two ways: write a decimal point and no thousands mark"
		}
		return whole + "." + part, ""
	}
	mark, group := ".", ","
	if strings.LastIndex(s, ",") > strings.LastIndex(s, ".") {
		mark, group = ",", "."
	}
	if points == 0 { // several commas part thousands
		mark, group = ".", ","
	}
	whole, part, _ := strings.Cut(s, mark)
	groups := strings.Split(whole, group)
	for i, g := range groups {
		if strings.Trim(g, "0123456789") != "" || (i == 0 && (len(g) < 1 || len(g) > 3)) || (i > 0 && len(g) != 3) {
			return "", "has misplaced commas or points"
		}
	}
	if strings.Trim(part, "0123456789") != "" {
		return "", "has misplaced commas or points"
	}
	return strings.Join(groups, "") + "." + part, ""
}

// exponent returns the length of a power of ten such as e-6 at the start of s.
func exponent(s string) int {
	if s == "" || (s[0] != 'e' && s[0] != 'E') {
		return 0
	}
	i := 1
	if i < len(s) && (s[i] == '+' || s[i] == '-') {
		i++
	}
	start := i
	for i < len(s) && digit(s[i]) {
		i++
	}
	if i == start {
		return 0
	}
	return i
}

func digit(c byte) bool { return c >= '0' && c <= '9' }
