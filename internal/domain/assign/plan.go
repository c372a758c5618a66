package assign

import (
	"cmp"
	"fmt"
	"math"
	"slices"
)

// defaultNodes bounds the search: well under a second.
const defaultNodes = 400_000

// Propose fills a night. It returns an error for a night that makes no sense: two courses of one end, two crews of
// one name, negative minutes or worth.
func Propose(n Night) (Plan, error) {
	if err := n.check(); err != nil {
		return Plan{}, err
	}
	s := newSearch(n)
	s.pin()
	s.order()
	s.visit(0)
	return s.plan(), nil
}

func (n Night) check() error {
	ends, crews := map[string]bool{}, map[string]bool{}
	for _, c := range n.Crews {
		if crews[c.Name] || c.Name == "" {
			return fmt.Errorf("assign: the crew %q is named twice or not at all", c.Name)
		}
		if c.Minutes < 0 {
			return fmt.Errorf("assign: the crew %s has %d minutes", c.Name, c.Minutes)
		}
		crews[c.Name] = true
	}
	for _, c := range n.Courses {
		if ends[c.End] || c.End == "" {
			return fmt.Errorf("assign: the end %q is named twice or not at all", c.End)
		}
		ends[c.End] = true
		for _, st := range c.Steps {
			if st.Minutes <= 0 || !(st.Worth >= 0) || math.IsInf(st.Worth, 0) {
				return fmt.Errorf("assign: %s, %s: minutes %d and worth %g must be more than 0", c.End, st.Name, st.Minutes, st.Worth)
			}
			for k, v := range st.Uses {
				if v < 0 {
					return fmt.Errorf("assign: %s, %s uses %d of %s", c.End, st.Name, v, k)
				}
			}
		}
	}
	return nil
}

// offer is a beginning of a course: its first k steps.
type offer struct {
	steps   int
	minutes int
	worth   float64
	uses    []int
	crews   []int // that are qualified for every step of it, rising
}

type choice struct {
	crew  int // -1: none
	offer int
}

type search struct {
	n      Night
	goods  []string
	stock  []int
	free   []int     // minutes left by crew
	offers [][]offer // by course, by steps
	open   []int     // courses that are still to be decided, in order of the search
	suffix []hull    // by place in open: what the rest can be worth in so many minutes
	now    []choice
	best   []choice
	worth  float64
	base   float64 // of what is pinned
	found  float64
	bound  float64
	nodes  int
	cut    bool
	broken []Left
	pinned []bool
}

func newSearch(n Night) *search {
	s := &search{n: n, found: -1, pinned: make([]bool, len(n.Courses))}
	for g := range n.Stock {
		s.goods = append(s.goods, g)
	}
	slices.Sort(s.goods)
	for _, g := range s.goods {
		s.stock = append(s.stock, n.Stock[g])
	}
	for _, c := range n.Crews {
		s.free = append(s.free, c.Minutes)
	}
	for _, c := range n.Courses {
		s.offers = append(s.offers, s.offersOf(c))
		s.now = append(s.now, choice{-1, -1})
	}
	s.best = slices.Clone(s.now)
	if s.n.Nodes <= 0 {
		s.n.Nodes = defaultNodes
	}
	return s
}

func (s *search) offersOf(c Course) []offer {
	var out []offer
	sum := offer{uses: make([]int, len(s.goods))}
	for i := range s.n.Crews {
		sum.crews = append(sum.crews, i)
	}
	for _, st := range c.Steps {
		uses := slices.Clone(sum.uses)
		for i, g := range s.goods {
			uses[i] += st.Uses[g]
		}
		var crews []int
		for _, i := range sum.crews {
			if qualified(s.n.Crews[i], st) {
				crews = append(crews, i)
			}
		}
		sum = offer{steps: sum.steps + 1, minutes: sum.minutes + st.Minutes, worth: sum.worth + st.Worth, uses: uses, crews: crews}
		out = append(out, sum)
	}
	return out
}

func qualified(c Crew, st Step) bool {
	return len(st.Trades) == 0 || slices.ContainsFunc(st.Trades, func(t string) bool { return slices.Contains(c.Trades, t) })
}

// pin places what a person chose. What cannot be kept is told with the reason, and the end is left to the search.
func (s *search) pin() {
	for i, c := range s.n.Courses {
		if c.Pinned == "" || c.Barred != "" {
			continue
		}
		crew := slices.IndexFunc(s.n.Crews, func(x Crew) bool { return x.Name == c.Pinned })
		k := c.PinnedSteps
		if k == 0 {
			k = 1
		}
		reason := ""
		switch {
		case crew < 0:
			reason = fmt.Sprintf("there is no crew %s in this window", c.Pinned)
		case k < 0 || k > len(c.Steps):
			reason = fmt.Sprintf("%d steps were chosen and the end offers %d", k, len(c.Steps))
		case !slices.Contains(s.offers[i][k-1].crews, crew):
			reason = fmt.Sprintf("%s is not qualified for %s", c.Pinned, s.unqualified(c, k, crew))
		case s.offers[i][k-1].minutes > s.free[crew]:
			reason = fmt.Sprintf("it takes %d minutes and %s has %d left", s.offers[i][k-1].minutes, c.Pinned, s.free[crew])
		default:
			if g := s.short(s.offers[i][k-1]); g != "" {
				reason = "too few " + g
			}
		}
		if reason != "" {
			s.broken = append(s.broken, Left{c.End, reason})
			continue
		}
		s.pinned[i] = true
		s.take(i, crew, k-1, 1)
		s.base += s.offers[i][k-1].worth
	}
	s.worth = s.base
}

func (s *search) unqualified(c Course, k, crew int) string {
	for _, st := range c.Steps[:k] {
		if !qualified(s.n.Crews[crew], st) {
			return st.Name
		}
	}
	return "it"
}

func (s *search) short(o offer) string {
	for g, u := range o.uses {
		if u > s.stock[g] {
			return s.goods[g]
		}
	}
	return ""
}

// take places (sign 1) or lifts (-1) an offer.
func (s *search) take(course, crew, offer, sign int) {
	o := &s.offers[course][offer]
	s.free[crew] -= sign * o.minutes
	for g, u := range o.uses {
		s.stock[g] -= sign * u
	}
	if sign > 0 {
		s.now[course] = choice{crew, offer}
	} else {
		s.now[course] = choice{-1, -1}
	}
}

// order sets the courses to decide, those of most worth a minute first, and the bounds of every rest.
func (s *search) order() {
	for i, c := range s.n.Courses {
		if !s.pinned[i] && c.Barred == "" && len(c.Steps) > 0 {
			s.open = append(s.open, i)
		}
	}
	density := func(i int) float64 {
		best := 0.0
		for _, o := range s.offers[i] {
			if len(o.crews) > 0 {
				best = max(best, o.worth/float64(o.minutes))
			}
		}
		return best
	}
	slices.SortStableFunc(s.open, func(a, b int) int { return cmp.Compare(density(b), density(a)) })
	s.suffix = make([]hull, len(s.open)+1)
	for i := len(s.open) - 1; i >= 0; i-- {
		s.suffix[i] = s.suffix[i+1].with(s.offers[s.open[i]])
	}
	s.bound = s.base + s.suffix[0].worth(s.minutes())
}

func (s *search) minutes() int {
	sum := 0
	for _, m := range s.free {
		sum += m
	}
	return sum
}

// visit decides the courses from the place i on.
func (s *search) visit(i int) {
	if s.worth > s.found+1e-12 {
		s.found = s.worth
		copy(s.best, s.now)
	}
	if i == len(s.open) || s.cut {
		return
	}
	if s.worth+s.suffix[i].worth(s.minutes()) <= s.found+1e-9 {
		return
	}
	if s.nodes++; s.nodes > s.n.Nodes {
		s.cut = true
		return
	}
	c := s.open[i]
	for k := len(s.offers[c]) - 1; k >= 0; k-- {
		o := &s.offers[c][k]
		if s.short(*o) != "" {
			continue
		}
		for j, crew := range o.crews {
			if o.minutes > s.free[crew] || s.likeAnother(o.crews[:j], crew) {
				continue
			}
			s.take(c, crew, k, 1)
			s.worth += o.worth
			s.visit(i + 1)
			s.worth -= o.worth
			s.take(c, crew, k, -1)
		}
	}
	s.visit(i + 1)
}

// likeAnother tells a crew from which nothing new can come: one tried before it has the same trades and time left.
func (s *search) likeAnother(before []int, crew int) bool {
	return slices.ContainsFunc(before, func(b int) bool {
		return s.free[b] == s.free[crew] && slices.Equal(s.n.Crews[b].Trades, s.n.Crews[crew].Trades)
	})
}
