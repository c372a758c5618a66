package repair

import (
	"endcast/internal/domain/outlook"
	"endcast/internal/domain/sequence"
	"endcast/internal/domain/units"
)

// Standing is the end as the order of repair sees it. The reason for its place is
// that of outlook.Rank, which any one end gets by itself.
func (st State) Standing() outlook.Standing {
	out := outlook.Standing{Name: st.Name, Capacity: st.CapacityNew, Demand: st.Demand, Fall: outlook.Verdict(st.FallVerdict), Outside: st.Outside}
	if st.Capacity != nil {
		out.Capacity = *st.Capacity
	}
	out.Carried = st.RankClass == RankCarried
	if st.FallEarly != nil {
		out.Early = *st.FallEarly
	}
	if st.Chance != nil {
		out.Chance, out.Sampled = *st.Chance, true
	}
	return out
}

// RankCarried is the RankClass of an end that its repair already carries; set it
// before Rank.
const RankCarried = 5

// carried reports whether the repair of an end is in place and carries the demand:
// cast, the specified strength proven by breaks of every batch that was tested, and
// the studs that were accepted enough for it. A forecast of strength counts for
// nothing.
func (r *Record) carried(ev Evaluations, f sequence.Facts) bool {
	d, e := r.DesignInForce(), ev.AsWelded
	if d == nil || e == nil || f.Pours == 0 || !e.Passes() || !(e.Capacity >= e.Demand) {
		return false
	}
	best := map[string]units.Stress{} // by batch, at whatever age
	for _, g := range f.Strengths {
		best[g.Set] = max(best[g.Set], g.Value)
	}
	for _, fc := range best {
		if fc < d.Fc {
			return false
		}
	}
	return len(best) > 0
}

// Rank sets the columns that the database sorts by so that the ends of a program
// come in the order of outlook.Rank: by class, key, chance downward, reserve and
// name. A test of the database compares the two.
func (st *State) Rank() {
	x, carried := st.Standing(), st.RankClass == RankCarried
	if x.Demand > 0 {
		st.Reserve = float64(x.Capacity / x.Demand)
	}
	switch {
	case carried:
		st.RankClass = RankCarried
	case !(x.Demand > 0):
		st.RankClass = 4
	case !(x.Capacity >= x.Demand):
		st.RankClass, st.RankKey = 0, st.Reserve
	case x.Early > 0:
		st.RankClass, st.RankKey = 1, x.Early
	case x.Sampled && x.Chance > 0:
		st.RankClass, st.RankKey = 2, 0 // the chance decides next
	default:
		st.RankClass, st.RankKey = 3, 0
	}
}
