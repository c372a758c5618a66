package family

import (
	"math"
	"runtime"
	"slices"
	"sync"
	"sync/atomic"

	"endcast/internal/domain/encasement"
)

// set is ends that are linked by likeness, and which of them are alike.
type set struct {
	cells []*cell
	like  [][]bool
}

// cluster is ends that share a layout, with the price of studs and UHPC of all of
// them.
type cluster struct {
	cells  []*cell
	index  []int // of the cells in their set
	layout encasement.Design
	volume float64
	price  float64 // of studs and UHPC at every end
}

func (c *cluster) take(d encasement.Design, cost Cost) {
	c.layout, c.volume = d, float64(d.Panel.Volume())
	c.price = float64(len(c.cells)) * priceAt(d, cost)
}

// priceAt is the price of studs and UHPC of a design at one end.
func priceAt(d encasement.Design, cost Cost) float64 {
	return float64(len(d.Studs))*cost.Stud + float64(d.Panel.Volume())*cost.UHPC
}

func (c *cluster) sites() []*encasement.Site {
	out := make([]*encasement.Site, len(c.cells))
	for i, m := range c.cells {
		out[i] = m.site
	}
	return out
}

func (c *cluster) passes(d encasement.Design) bool {
	for _, m := range c.cells {
		if !m.site.Passes(d) {
			return false
		}
	}
	return true
}

// solve groups each set, sets side by side: they share no end.
func solve(sets []*set, cost Cost) [][]*cluster {
	out := make([][]*cluster, len(sets))
	each(len(sets), func(i int) { out[i] = sets[i].group(cost) })
	return out
}

// each calls f for 0 to n-1 on as many threads as there are to use.
func each(n int, f func(int)) {
	workers := min(n, runtime.GOMAXPROCS(0))
	if workers < 2 {
		for i := range n {
			f(i)
		}
		return
	}
	var next atomic.Int64
	var wg sync.WaitGroup
	for range workers {
		wg.Go(func() {
			for i := int(next.Add(1)) - 1; i < n; i = int(next.Add(1)) - 1 {
				f(i)
			}
		})
	}
	wg.Wait()
}

// union is two clusters that may be joined.
type union struct {
	a, b   *cluster
	saves  float64 // estimate from above until known
	known  bool
	joined *cluster
}

func (s *set) group(cost Cost) []*cluster {
	var all []*cluster
	for i, c := range s.cells {
		k := &cluster{cells: []*cell{c}, index: []int{i}}
		k.take(c.own, cost)
		all = append(all, k)
	}
	all = s.merge(all, cost)
	return s.move(all, cost)
}

// merge joins the two clusters whose union saves most until none saves. What a
// union saves is found by laying it out, for the most promising first: no union
// is laid out whose estimate is below what another is known to save.
func (s *set) merge(all []*cluster, cost Cost) []*cluster {
	var list []*union
	add := func(a, b *cluster) {
		if u := (&union{a: a, b: b}); s.mayJoin(a, b) {
			if u.saves = estimate(a, b, cost); u.saves > 0 {
				list = append(list, u)
			}
		}
	}
	for i, a := range all {
		for _, b := range all[i+1:] {
			add(a, b)
		}
	}
	for {
		best := 0
		for i, u := range list {
			if u.saves > list[best].saves {
				best = i
			}
		}
		if len(list) == 0 {
			return all
		}
		u := list[best]
		if !u.known {
			u.joined, u.saves = join(u.a, u.b, cost)
			u.known = true
			if u.joined == nil || !(u.saves > 1e-9) {
				list = append(list[:best], list[best+1:]...)
			}
			continue
		}
		kept := list[:0]
		for _, v := range list {
			if v.a != u.a && v.a != u.b && v.b != u.a && v.b != u.b {
				kept = append(kept, v)
			}
		}
		list = kept
		rest := all[:0]
		for _, c := range all {
			if c != u.a && c != u.b {
				rest = append(rest, c)
			}
		}
		all = rest
		for _, c := range all {
			add(c, u.joined)
		}
		all = append(all, u.joined)
	}
}

// mayJoin reports whether every end of one cluster is like every end of another.
func (s *set) mayJoin(a, b *cluster) bool {
	for _, i := range a.index {
		for _, j := range b.index {
			if !s.like[i][j] {
				return false
			}
		}
	}
	return true
}

// estimate is what joining two clusters saves at best: a shared layout takes at
// least the studs of the larger of the two, and is taken to need at least the
// smaller panel.
func estimate(a, b *cluster, cost Cost) float64 {
	n := float64(len(a.cells) + len(b.cells))
	studs := max(len(a.layout.Studs), len(b.layout.Studs))
	least := n * (float64(studs)*cost.Stud + min(a.volume, b.volume)*cost.UHPC)
	return cost.Design + cost.Form + a.price + b.price - least
}

// join lays out the union of two clusters and says what it saves. The layout of
// either is tried at the ends of the other first, then one made for all.
func join(a, b *cluster, cost Cost) (*cluster, float64) {
	out := &cluster{cells: append(append([]*cell(nil), a.cells...), b.cells...), index: append(append([]int(nil), a.index...), b.index...)}
	if !out.layOut([]encasement.Design{a.layout, b.layout}, a.price+b.price+cost.Design+cost.Form, cost) {
		return nil, 0
	}
	return out, cost.Design + cost.Form + a.price + b.price - out.price
}

// layOut gives the cluster the cheapest layout of those that its parts had and
// one made for all, at a price below most. It reports false where there is none.
func (c *cluster) layOut(had []encasement.Design, most float64, cost Cost) bool {
	best, found := most/float64(len(c.cells)), false
	floor := 0 // no shared layout takes fewer studs than an own one that was proposed
	for _, m := range c.cells {
		if m.proposed {
			floor = max(floor, len(m.own.Studs))
		}
	}
	for _, d := range had {
		if v := priceAt(d, cost); v < best-1e-9 && c.passes(d) {
			best, found = v, true
			c.take(d, cost)
		}
	}
	// The own layout of an end that asks for most is the smallest that serves
	// that end: none made for all is smaller.
	if found && c.ownAmong(floor) {
		return true
	}
	limit := encasement.MaxStuds
	if cost.Stud > 0 {
		limit = int(math.Min(float64(limit), best/cost.Stud))
	}
	if d, ok := encasement.ProposeShared(c.sites(), limit); ok && priceAt(d, cost) < best-1e-9 {
		found = true
		c.take(d, cost)
	}
	return found
}

// move takes single ends to another cluster where that saves, twice round.
func (s *set) move(all []*cluster, cost Cost) []*cluster {
	fixed := cost.Design + cost.Form
	for range 2 {
		moved := false
		for i := range s.cells {
			from := owner(all, i)
			if len(all) < 2 {
				break
			}
			if !s.mayMove(all, from, i, fixed, cost) {
				continue
			}
			left, gain := from.without(i, fixed, cost)
			var to, grown *cluster
			for _, t := range all {
				if t == from || !s.mayJoin(t, &cluster{index: []int{i}}) {
					continue
				}
				g := &cluster{cells: append(append([]*cell(nil), t.cells...), s.cells[i]), index: append(append([]int(nil), t.index...), i)}
				if g.layOut([]encasement.Design{t.layout, s.cells[i].own}, t.price+gain, cost) {
					to, grown, gain = t, g, g.price-t.price
				}
			}
			if grown == nil {
				continue
			}
			rest := make([]*cluster, 0, len(all))
			for _, c := range all {
				switch {
				case c == from && left != nil:
					rest = append(rest, left)
				case c == to:
					rest = append(rest, grown)
				case c != from:
					rest = append(rest, c)
				}
			}
			all, moved = rest, true
		}
		if !moved {
			break
		}
	}
	return all
}

// mayMove reports whether taking an end to some other cluster can save, as far as
// can be told without laying anything out: what stays needs at least the own
// layouts of its ends, what grows at least the studs of this end too.
func (s *set) mayMove(all []*cluster, from *cluster, i int, fixed float64, cost Cost) bool {
	studs, volume := 0, 0.0
	for k, c := range from.cells {
		if from.index[k] == i {
			continue
		}
		if n := len(c.own.Studs); n > studs {
			studs, volume = n, c.volume
		} else if n == studs {
			volume = max(volume, c.volume)
		}
	}
	gain := from.price - float64(len(from.cells)-1)*(float64(studs)*cost.Stud+min(volume, from.volume)*cost.UHPC)
	if len(from.cells) == 1 {
		gain += fixed
	}
	one := &cluster{index: []int{i}}
	own := s.cells[i]
	for _, t := range all {
		if t == from || !s.mayJoin(t, one) {
			continue
		}
		more := float64(max(0, len(own.own.Studs)-len(t.layout.Studs)) * len(t.cells))
		if (more+float64(max(len(own.own.Studs), len(t.layout.Studs))))*cost.Stud+min(own.volume, t.volume)*cost.UHPC < gain {
			return true
		}
	}
	return false
}

func owner(all []*cluster, i int) *cluster {
	for _, c := range all {
		for _, j := range c.index {
			if j == i {
				return c
			}
		}
	}
	return nil
}

// without is the cluster less one end and the price that its leaving frees.
func (c *cluster) without(i int, fixed float64, cost Cost) (*cluster, float64) {
	if len(c.cells) == 1 {
		return nil, c.price + fixed
	}
	out := &cluster{}
	for k, j := range c.index {
		if j != i {
			out.cells, out.index = append(out.cells, c.cells[k]), append(out.index, j)
		}
	}
	out.take(c.layout, cost)
	if !out.layOut(nil, out.price, cost) {
		out.take(c.layout, cost)
	}
	return out, c.price - out.price
}

// ownAmong reports whether the layout is the proposed one of an end, with a number
// of studs.
func (c *cluster) ownAmong(studs int) bool {
	for _, m := range c.cells {
		if m.proposed && len(m.own.Studs) == studs && m.own.Panel == c.layout.Panel && slices.Equal(m.own.Studs, c.layout.Studs) {
			return true
		}
	}
	return false
}
