package logfile

import (
	"math"
	"strings"
	"time"
)

// wall is a date and time of day as it stands in a file, in seconds since 1970 as
// if it were UTC, with the nanoseconds beside it.
type wall struct {
	sec  int64
	nano int64
	off  int // offset of the zone in seconds, where it is written
	has  bool
}

// date reads three numbers, or a day and year with the name of a month, in the
// order given ("ymd", "dmy", "mdy"), separated by one of - / . and space.
func date(s []byte, order string) (days int64, rest []byte, ok bool) {
	if len(s) >= 8 && order == "ymd" && allDigits(s[:8]) && (len(s) == 8 || s[8]-'0' > 9) {
		y, m, d := pair(s)*100+pair(s[2:]), pair(s[4:]), pair(s[6:])
		return checked(y, m, d, s[8:])
	}
	var part [3]int
	var width [3]int
	month := -1 // which part is a month's name
	for i := range part {
		n, v := 0, 0
		for n < len(s) && n < 5 && s[n]-'0' <= 9 {
			v = v*10 + int(s[n]-'0')
			n++
		}
		if n == 0 {
			if month >= 0 {
				return 0, s, false
			}
			if n, v = monthName(s); n == 0 {
				return 0, s, false
			}
			month = i
		}
		part[i], width[i] = v, n
		s = s[n:]
		if i == 2 {
			break
		}
		n = 0
		for n < len(s) && (s[n] == '-' || s[n] == '/' || s[n] == '.' || s[n] == ' ' || s[n] == ',') {
			n++
		}
		if n == 0 || n > 2 {
			return 0, s, false
		}
		s = s[n:]
	}
	var y, m, d, yw int
	switch order {
	case "ymd":
		y, m, d, yw = part[0], part[1], part[2], width[0]
	case "mdy":
		m, d, y, yw = part[0], part[1], part[2], width[2]
		if month == 1 {
			m, d = d, m
		}
	default:
		d, m, y, yw = part[0], part[1], part[2], width[2]
		if month == 0 {
			m, d = d, m
		}
	}
	if yw == 2 {
		y += 2000
	} else if yw != 4 {
		return 0, s, false
	}
	return checked(y, m, d, s)
}

func checked(y, m, d int, rest []byte) (int64, []byte, bool) {
	if y < 1900 || y >= 2200 || m < 1 || m > 12 || d < 1 || d > monthDays(y, m) {
		return 0, rest, false
	}
	return civil(y, m, d), rest, true
}

// civil counts the days from 1970-01-01 in the Gregorian calendar, by the usual
// count of eras of 400 years that begin in March.
func civil(y, m, d int) int64 {
	if m <= 2 {
		y--
		m += 12
	}
	era := y / 400
	yoe := y - era*400
	doy := (153*(m-3)+2)/5 + d - 1
	return int64(era*146097 + yoe*365 + yoe/4 - yoe/100 + doy - 719468)
}

func monthDays(y, m int) int {
	switch m {
	case 2:
		if y%4 == 0 && (y%100 != 0 || y%400 == 0) {
			return 29
		}
		return 28
	case 4, 6, 9, 11:
		return 30
	}
	return 31
}

const monthNames = "janfebmaraprmayjunjulaugsepoctnovdec"

// monthName reads the English name of a month, short or whole.
func monthName(s []byte) (n, month int) {
	for n < len(s) && (s[n]|0x20 >= 'a' && s[n]|0x20 <= 'z') && n < 9 {
		n++
	}
	if n < 3 {
		return 0, 0
	}
	var low [3]byte
	for i := range low {
		low[i] = s[i] | 0x20
	}
	i := strings.Index(monthNames, string(low[:]))
	if i < 0 || i%3 != 0 || (n > 3 && !strings.HasPrefix(strings.ToLower(time.Month(i/3+1).String()), strings.ToLower(string(s[:n])))) {
		return 0, 0
	}
	return n, i/3 + 1
}

// timeOfDay reads hours:minutes, with seconds, their fraction and AM or PM where they
// are written. 24:00 is the end of the day.
func timeOfDay(s []byte) (sec, nano int64, rest []byte, ok bool) {
	h, s, ok := upTo(s, 2)
	if !ok || len(s) == 0 || s[0] != ':' {
		return 0, 0, s, false
	}
	m, s, ok := upTo(s[1:], 2)
	if !ok || m > 59 {
		return 0, 0, s, false
	}
	sc := 0
	if len(s) > 0 && s[0] == ':' {
		if sc, s, ok = upTo(s[1:], 2); !ok || sc > 59 {
			return 0, 0, s, false
		}
		if len(s) > 1 && (s[0] == '.' || s[0] == ',' || s[0] == ':') && s[1]-'0' <= 9 {
			nano, s = fraction(s[1:])
		}
	}
	if half, after := halfOfDay(s); half != 0 {
		if h < 1 || h > 12 {
			return 0, 0, s, false
		}
		h %= 12
		if half == 'p' {
			h += 12
		}
		s = after
	}
	if h > 24 || (h == 24 && (m > 0 || sc > 0 || nano > 0)) {
		return 0, 0, s, false
	}
	return int64(h)*3600 + int64(m)*60 + int64(sc), nano, s, true
}

func fraction(s []byte) (nano int64, rest []byte) {
	unit := int64(1e8)
	for len(s) > 0 && s[0]-'0' <= 9 {
		nano += int64(s[0]-'0') * unit
		unit /= 10
		s = s[1:]
	}
	return nano, s
}

// halfOfDay reads AM or PM, also a.m. and p.m., after a space or none.
func halfOfDay(s []byte) (half byte, rest []byte) {
	t := trim(s)
	if len(t) < 2 || (t[0]|0x20 != 'a' && t[0]|0x20 != 'p') {
		return 0, s
	}
	half = t[0] | 0x20
	t = t[1:]
	if t[0] == '.' {
		t = t[1:]
	}
	if len(t) == 0 || t[0]|0x20 != 'm' {
		return 0, s
	}
	t = t[1:]
	if len(t) > 0 && t[0] == '.' {
		t = t[1:]
	}
	return half, t
}

// offset reads Z, +05:30, -0500 or +1; it reports false where there is none.
func offset(s []byte) (sec int, rest []byte, ok bool) {
	if len(s) > 0 && (s[0] == 'Z' || s[0] == 'z') {
		return 0, s[1:], true
	}
	if len(s) < 2 || (s[0] != '+' && s[0] != '-') {
		return 0, s, false
	}
	minus := s[0] == '-'
	h, rest, ok := upTo(s[1:], 2)
	if !ok || h > 14 {
		return 0, s, false
	}
	m := 0
	if len(rest) > 0 && rest[0] == ':' {
		rest = rest[1:]
	}
	if len(rest) >= 2 && allDigits(rest[:2]) {
		m, rest = pair(rest), rest[2:]
	}
	if m > 59 {
		return 0, s, false
	}
	sec = h*3600 + m*60
	if minus {
		sec = -sec
	}
	return sec, rest, true
}

func upTo(s []byte, most int) (v int, rest []byte, ok bool) {
	n := 0
	for n < len(s) && n < most && s[n]-'0' <= 9 {
		v = v*10 + int(s[n]-'0')
		n++
	}
	return v, s[n:], n > 0
}

func allDigits(s []byte) bool {
	for _, c := range s {
		if c-'0' > 9 {
			return false
		}
	}
	return true
}

func pair(s []byte) int { return int(s[0]-'0')*10 + int(s[1]-'0') }

// stamp reads a date with the time of day after it, or, where day is not nil, a
// date in s and the time of day in day. A date alone is the beginning of its day.
func stamp(s, day []byte, order string) (w wall, ok bool) {
	days, rest, ok := date(s, order)
	if !ok {
		return w, false
	}
	w.sec = days * 86400
	if day == nil {
		if len(rest) > 0 && (rest[0] == 'T' || rest[0] == 't' || rest[0] == ',' || rest[0] == '_' || rest[0] == '-') {
			rest = rest[1:]
		}
		if day = trim(rest); len(day) == 0 {
			return w, true
		}
	} else if len(trim(rest)) > 0 && !midnight(trim(rest)) {
		return w, false
	}
	sec, nano, rest, ok := timeOfDay(day)
	if !ok {
		return w, false
	}
	w.sec += sec
	w.nano = nano
	if rest = trim(rest); len(rest) > 0 {
		if w.off, rest, w.has = offset(rest); !w.has {
			if string(rest) != "UTC" && string(rest) != "GMT" {
				return w, false
			}
			w.has, rest = true, nil
		}
	}
	return w, len(rest) == 0
}

// midnight is the time that a spreadsheet writes after a date that has none.
func midnight(s []byte) bool {
	sec, nano, rest, ok := timeOfDay(s)
	return ok && sec == 0 && nano == 0 && len(rest) == 0
}

// span reads hours:minutes:seconds of any number of hours, or minutes:seconds where
// short, in seconds.
func span(s []byte) (sec, nano int64, ok bool) {
	h, s, ok := upTo(s, 7)
	if !ok || len(s) == 0 || s[0] != ':' {
		return 0, 0, false
	}
	m, s, ok := upTo(s[1:], 2)
	if !ok || m > 59 {
		return 0, 0, false
	}
	sc := 0
	if len(s) > 0 && s[0] == ':' {
		if sc, s, ok = upTo(s[1:], 2); !ok || sc > 59 {
			return 0, 0, false
		}
		if len(s) > 1 && (s[0] == '.' || s[0] == ',') {
			nano, s = fraction(s[1:])
		}
	}
	return int64(h)*3600 + int64(m)*60 + int64(sc), nano, len(s) == 0
}

// count turns a number of units of so many nanoseconds since a start into seconds
// and nanoseconds, rounded to the microsecond: decimal fractions are not exact in
// binary, and no logger counts finer.
func count(v, unit float64) (sec, nano int64, ok bool) {
	s := v * unit
	if math.IsNaN(s) || math.Abs(s) > 1e10 {
		return 0, 0, false
	}
	whole := math.Floor(s)
	us := math.Round((s - whole) * 1e6)
	return int64(whole), int64(us) * 1000, true
}
