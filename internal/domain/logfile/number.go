package logfile

import (
	"math"
	"strconv"
)

// tens are the powers of ten that a float64 holds exactly.
var tens = [23]float64{1, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22}

// number reads the decimal number at the start of s and returns what follows it. A
// mantissa below 2^53 with a power of ten up to 22 is one correctly rounded
// operation (W. D. Clinger, How to read floating point numbers accurately, 1990);
// anything longer goes through strconv. Infinities and NaN are not numbers here.
func number(s []byte, decimal byte) (v float64, rest []byte, ok bool) {
	i, negative := 0, false
	if i < len(s) && (s[i] == '-' || s[i] == '+') {
		negative = s[i] == '-'
		i++
	}
	var mantissa uint64
	digits, exp := 0, 0
	exact := true
	point := false
	for ; i < len(s); i++ {
		c := s[i]
		if c == decimal && !point {
			point = true
			continue
		}
		if c -= '0'; c > 9 {
			break
		}
		digits++
		if mantissa < 1<<53/10 {
			mantissa = mantissa*10 + uint64(c)
			if point {
				exp--
			}
		} else {
			exact = false
		}
	}
	if digits == 0 || digits > 400 {
		return 0, s, false
	}
	if i < len(s) && (s[i] == 'e' || s[i] == 'E') {
		j, minus, e := i+1, false, 0
		if j < len(s) && (s[j] == '-' || s[j] == '+') {
			minus = s[j] == '-'
			j++
		}
		start := j
		for ; j < len(s) && s[j]-'0' <= 9 && e < 10000; j++ {
			e = e*10 + int(s[j]-'0')
		}
		if j > start {
			i = j
			if minus {
				e = -e
			}
			exp += e
		}
	}
	if !exact || exp < -22 || exp > 22 {
		v, ok = long(s[:i], decimal)
		return v, s[i:], ok
	}
	v = float64(mantissa)
	if exp < 0 {
		v /= tens[-exp]
	} else {
		v *= tens[exp]
	}
	if negative {
		v = -v
	}
	return v, s[i:], true
}

// long reads a number of many digits.
func long(s []byte, decimal byte) (float64, bool) {
	var room [64]byte
	b := append(room[:0], s...)
	for i, c := range b {
		if c == decimal {
			b[i] = '.'
		}
	}
	v, err := strconv.ParseFloat(string(b), 64)
	return v, err == nil && !math.IsInf(v, 0)
}
