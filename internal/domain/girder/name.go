package girder

import (
	"strconv"
	"strings"
)

// Most spans and girder lines that a name may count to.
const most = 999

// ParseName reads the name of a girder end, such as 2F-3: span 2, far end, girder
// line 3. Small letters, blanks, leading zeros and any kind of dash are taken. The
// error is a *fault.Invalid that shows what was typed.
func ParseName(text string) (Name, error) {
	wrong := func(limit string) (Name, error) {
		if r := []rune(text); len(r) > 40 {
			text = string(r[:40]) + "…"
		}
		return Name{}, Problems{{Field: "name", Value: strconv.Quote(text), Limit: limit}}.Err()
	}
	const form = "be a span, N or F, a dash and a girder line, as in 2F-3"
	if len(text) > 64 {
		return wrong(form)
	}
	s := strings.ToUpper(strings.Join(strings.Fields(text), ""))
	at := strings.IndexAny(s, "NF")
	if at < 1 {
		return wrong(form)
	}
	rest, dashed := s[at+1:], false
	for _, dash := range []string{"-", "‐", "‑", "–", "—", "−"} {
		if after, ok := strings.CutPrefix(rest, dash); ok {
			rest, dashed = after, true
			break
		}
	}
	span, ok := count(s[:at])
	line, ok2 := count(rest)
	if !dashed || !ok || !ok2 {
		return wrong(form)
	}
	n := Name{Span: span, Side: Side(s[at : at+1]), Girder: line}
	if n.problems() != nil {
		return wrong("count spans and girder lines from 1 to 999")
	}
	return n, nil
}

// count reads digits only: no sign, no point.
func count(s string) (int, bool) {
	if s == "" || strings.Trim(s, "0123456789") != "" {
		return 0, false
	}
	n, err := strconv.Atoi(s)
	return n, err == nil
}

// String is the name as everyone writes it: 2F-3.
func (n Name) String() string {
	return strconv.Itoa(n.Span) + string(n.Side) + "-" + strconv.Itoa(n.Girder)
}

// Validate refuses a span or a girder line that does not count from 1 to 999, and
// a side that is neither near nor far.
func (n Name) Validate() error { return n.problems().Err() }

func (n Name) problems() Problems {
	var ps Problems
	ps.find(n.Span >= 1 && n.Span <= most, "name.span", float64(n.Span), "count from 1 to 999")
	if n.Side != Near && n.Side != Far {
		ps = append(ps, Problem{Field: "name.side", Value: strconv.Quote(string(n.Side)), Limit: "be N or F"})
	}
	ps.find(n.Girder >= 1 && n.Girder <= most, "name.girder", float64(n.Girder), "count from 1 to 999")
	return ps
}

// MarshalText writes the name.
func (n Name) MarshalText() ([]byte, error) { return []byte(n.String()), nil }

// UnmarshalText reads a name as ParseName does.
func (n *Name) UnmarshalText(b []byte) (err error) {
	*n, err = ParseName(string(b))
	return err
}

// Support is the place of the support in the line of supports, counted ahead
// station from 1: a near end stands on the support of its span's number, a far
// end on the one after it.
func (n Name) Support() int {
	if n.Side == Far {
		return n.Span + 1
	}
	return n.Span
}

// SupportFace tells on which side of its support an end is seen: a far end stands
// on the back-station face of the support ahead of its span.
func (n Name) SupportFace() string {
	if n.Side == Far {
		return "back face"
	}
	return "ahead face"
}

// Reading is the plain reading that always goes with a name, because near and
// far are easily mixed up: "Pier 2, back face". The argument is what the owner
// calls the support.
func (n Name) Reading(support string) string { return support + ", " + n.SupportFace() }
