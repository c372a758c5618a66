package outlook

import (
	"cmp"
	"slices"
)

// class orders what an end is first asked for.
type class int

const (
	short   class = iota // capacity below demand
	falling              // falls below it within the horizon, at the high rate of loss
	chancy               // a chance, no year
	steady
	unknown // no demand
	carried // the repair is in place and carries it
)

func (s Standing) class() class {
	switch {
	case s.Carried:
		return carried
	case !(s.Demand > 0):
		return unknown
	case !(s.Capacity >= s.Demand):
		return short
	case s.Early > 0:
		return falling
	case s.Sampled && s.Chance > 0:
		return chancy
	default:
		return steady
	}
}

// shortfall is the part of the demand that the capacity leaves uncovered.
func (s Standing) shortfall() float64 {
	if !(s.Capacity >= 0) {
		return 1
	}
	return 1 - float64(s.Capacity/s.Demand)
}

// Rank puts ends in the order in which to repair them. First the ends whose
// capacity is below the demand, the largest shortfall over demand first; then those
// that fall below it within the horizon, the earliest year at the high rate first;
// then those with a chance of being below it, the highest first; then the rest, the
// smallest reserve first; then those without a demand; last those that a repair in
// place already carries. What is equal goes by the
// next of these, and in the end by name. An end outside the limits of the method
// keeps the place of its numbers, and its reason says so. The order of the input
// does not matter.
func Rank(ends []Standing) []Ranked {
	list := slices.Clone(ends)
	slices.SortStableFunc(list, func(p, q Standing) int {
		c := p.class()
		if d := cmp.Compare(c, q.class()); d != 0 {
			return d
		}
		var by int
		switch c {
		case short:
			by = cmp.Compare(q.shortfall(), p.shortfall())
		case falling:
			by = cmp.Compare(p.Early, q.Early)
		}
		if by != 0 {
			return by
		}
		return cmp.Or(cmp.Compare(q.chance(), p.chance()), cmp.Compare(p.reserve(), q.reserve()), cmp.Compare(p.Name, q.Name))
	})
	out := make([]Ranked, len(list))
	for i, s := range list {
		out[i] = Ranked{Standing: s, Place: i + 1, Reason: s.reason()}
	}
	return out
}

func (s Standing) chance() float64 {
	if !s.Sampled {
		return 0
	}
	return s.Chance
}

// reserve is capacity over demand, zero without a demand.
func (s Standing) reserve() float64 {
	if !(s.Demand > 0) {
		return 0
	}
	return float64(s.Capacity / s.Demand)
}

// reason is why an end stands where it does.
func (s Standing) reason() string {
	var out string
	switch s.class() {
	case carried:
		return "repaired: the panel carries the demand, and breaks have proven the strength that it was designed with"
	case short:
		out = "the capacity is " + percent(s.shortfall()) + " of the demand short of it"
	case falling:
		out = "falls below the demand about " + calendar(s.Early) + " at the high rate of loss"
	case chancy:
		out = "a chance of " + percent(s.Chance) + " that the capacity is below the demand"
	case steady:
		out = "the capacity is " + percent(s.reserve()) + " of the demand"
		if s.Fall == Beyond {
			out += ", and stays above it as far as is looked ahead"
		}
	default:
		out = "no demand on record: nothing to compare with"
	}
	if c := s.class(); s.Sampled && (c == short || c == falling) {
		out += "; chance of being below it now " + percent(s.Chance)
	}
	if s.Outside {
		out += "; outside the limits of the method, an engineer must judge"
	}
	return out
}
