package loads

import "strconv"

// axleField is the name of a box of the table of axles.
func axleField(i int, part string) string { return "axles[" + strconv.Itoa(i) + "]." + part }

// folded reports whether something is set that the fold of the form holds.
func (v VehicleView) folded() bool {
	for _, name := range [...]string{"gross", "lane", "lane_point", "over", "gamma", "method", "load"} {
		if f := v.Fields[name]; f.Value != "" || f.Reason != "" {
			return true
		}
	}
	return v.LaneAlone || v.OneLane
}
