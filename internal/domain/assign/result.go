package assign

import (
	"cmp"
	"fmt"
	"slices"
)

// plan turns the best choice into places with times, and gives every end left out its reason.
func (s *search) plan() Plan {
	p := Plan{Worth: max(s.found, 0), Nodes: s.nodes, Best: !s.cut, Broken: s.broken, Used: map[string]int{}}
	p.Bound = p.Worth
	if s.cut {
		p.Bound = max(s.bound, p.Worth)
	}
	free := make([]int, len(s.n.Crews))
	for i, c := range s.n.Crews {
		free[i] = c.Minutes
	}
	stock := make([]int, len(s.goods))
	for i, g := range s.goods {
		stock[i] = s.n.Stock[g]
	}
	order := make([]int, 0, len(s.best))
	for i, ch := range s.best {
		if ch.crew >= 0 {
			order = append(order, i)
		}
	}
	// A crew takes what is worth most a minute first, so that a window that is cut loses least.
	slices.SortStableFunc(order, func(a, b int) int {
		x, y := s.offers[a][s.best[a].offer], s.offers[b][s.best[b].offer]
		return cmp.Or(cmp.Compare(s.best[a].crew, s.best[b].crew), cmp.Compare(y.worth/float64(y.minutes), x.worth/float64(x.minutes)))
	})
	for _, i := range order {
		ch := s.best[i]
		o := s.offers[i][ch.offer]
		from := s.n.Crews[ch.crew].Minutes - free[ch.crew]
		p.Places = append(p.Places, Place{End: s.n.Courses[i].End, Crew: s.n.Crews[ch.crew].Name, Steps: o.steps, From: from, To: from + o.minutes, Pinned: s.pinned[i]})
		free[ch.crew] -= o.minutes
		for g, u := range o.uses {
			stock[g] -= u
			p.Used[s.goods[g]] += u
		}
	}
	for i, c := range s.n.Courses {
		if s.best[i].crew < 0 {
			p.Left = append(p.Left, Left{c.End, s.why(i, free, stock)})
		}
	}
	return p
}

// why is the one reason an end is left out, the most certain one first.
func (s *search) why(i int, free, stock []int) string {
	c := s.n.Courses[i]
	switch {
	case c.Barred != "":
		return c.Barred
	case len(c.Steps) == 0:
		return "nothing can be worked there in this window"
	case len(s.n.Crews) == 0:
		return "no crew is named for this window"
	}
	first := s.offers[i][0]
	if len(first.crews) == 0 {
		return "no crew is qualified for " + c.Steps[0].Name
	}
	longest := 0
	for _, crew := range first.crews {
		longest = max(longest, s.n.Crews[crew].Minutes)
	}
	if first.minutes > longest {
		return fmt.Sprintf("%s takes %d minutes; the window leaves %d", c.Steps[0].Name, first.minutes, longest)
	}
	for g, u := range first.uses {
		if u > s.n.Stock[s.goods[g]] {
			return fmt.Sprintf("%s needs %d of %s; %d on hand", c.Steps[0].Name, u, s.goods[g], s.n.Stock[s.goods[g]])
		}
	}
	for g, u := range first.uses {
		if u > stock[g] {
			return "the other ends take every one of " + s.goods[g]
		}
	}
	for _, crew := range first.crews {
		if first.minutes <= free[crew] {
			return "it is worth less than what is planned"
		}
	}
	return "no crew has time left for it"
}
