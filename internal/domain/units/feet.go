package units

import (
	"math"
	"strconv"
)

// FeetInches prints a length the way long ones are read off a US drawing, as feet
// and inches to the nearest fraction of an inch: 82'-6 1/2". The denominator is a
// power of two up to 64; any other reads as 16. It rounds, so it is for display
// only; see Exact for edit fields.
func FeetInches(l Length, denominator int) string {
	if s, odd := odd(float64(l)); odd {
		return s
	}
	switch denominator {
	case 1, 2, 4, 8, 16, 32, 64:
	default:
		denominator = 16
	}
	parts := math.Round(math.Abs(float64(l)) / inch * float64(denominator))
	if parts > 1e15 {
		return Lengths.Format(float64(l), US, 0)
	}
	n := int64(parts)
	feet, n := n/int64(12*denominator), n%int64(12*denominator)
	inches, n := n/int64(denominator), n%int64(denominator)
	s := strconv.FormatInt(feet, 10) + "'-" + strconv.FormatInt(inches, 10)
	if n > 0 {
		d := int64(denominator)
		for n%2 == 0 {
			n, d = n/2, d/2
		}
		s += " " + strconv.FormatInt(n, 10) + "/" + strconv.FormatInt(d, 10)
	}
	if l < 0 && parts > 0 {
		s = "−" + s
	}
	return s + "\""
}

// Inches prints a length the way sizes of steel are named, as inches with a fraction of
// sixteenths: 3-3/16. A length that is no sixteenth within a hundredth of an inch reads
// in decimals. For names and display only.
func Inches(l Length) string {
	n := int64(math.Round(float64(l) / inch * 16))
	if l < 0 || n > 1e6 || math.Abs(float64(n)*inch/16-float64(l)) > inch/100 {
		return strconv.FormatFloat(math.Round(float64(l)/inch*1000)/1000, 'f', -1, 64)
	}
	whole, n, d := n/16, n%16, int64(16)
	if n == 0 {
		return strconv.FormatInt(whole, 10)
	}
	for n%2 == 0 {
		n, d = n/2, d/2
	}
	s := strconv.FormatInt(n, 10) + "/" + strconv.FormatInt(d, 10)
	if whole > 0 {
		s = strconv.FormatInt(whole, 10) + "-" + s
	}
	return s
}
