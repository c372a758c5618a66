package repair

import "endcast/internal/domain/outlook"

// Standing is the end as the order of repair sees it. The reason for its place is
// that of outlook.Rank, which any one end gets by itself.
func (st State) Standing() outlook.Standing {
	out := outlook.Standing{Name: st.Name, Capacity: st.CapacityNew, Demand: st.Demand, Fall: outlook.Verdict(st.FallVerdict), Outside: st.Outside}
	if st.Capacity != nil {
		out.Capacity = *st.Capacity
	}
	if st.FallEarly != nil {
		out.Early = *st.FallEarly
	}
	if st.Chance != nil {
		out.Chance, out.Sampled = *st.Chance, true
	}
	return out
}

// Rank sets the columns that the database sorts by so that the ends of a program
// come in the order of outlook.Rank: by class, key, chance downward, reserve and
// name. A test of the database compares the two.
func (st *State) Rank() {
	x := st.Standing()
	if x.Demand > 0 {
		st.Reserve = float64(x.Capacity / x.Demand)
	}
	switch {
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
