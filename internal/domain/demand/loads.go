package demand

import (
	"endcast/internal/domain/units"
)

// Reaction is one reaction at a girder end, without load factors. Known is false
// where nobody has it, which is not the same as zero.
type Reaction struct {
	Force  units.Force `json:"force"`
	Known  bool        `json:"known"`
	Origin string      `json:"origin,omitzero"` // "statics", or the calculation that a person took it from
}

// Live is the reaction of one load at a girder end, with its share and impact,
// without load factor.
type Live struct {
	Load   string      `json:"load"` // Truck.Title
	Method Method      `json:"method"`
	Force  units.Force `json:"force"`
	Origin string      `json:"origin,omitzero"`
	// How statics came to it; zero for a reaction entered by hand.
	Governs   string    `json:"governs,omitzero"` // code of the truck, or "lane load"
	Lane      float64   `json:"lane,omitzero"`    // reaction of one whole lane with impact, N
	Share     float64   `json:"share,omitzero"`   // part of a lane with skew; in wheel lines by the load factor method
	Impact    float64   `json:"impact,omitzero"`
	Placement Placement `json:"placement,omitzero"`
}

// Loads is what a girder end must carry, by cause. Any of it may come from a person
// in place of statics.
type Loads struct {
	DC1  Reaction `json:"dc1"`
	DC2  Reaction `json:"dc2"`
	DW   Reaction `json:"dw"`
	Live []Live   `json:"live,omitempty"`
	// Share is how live load reaches the girder, zero where all was entered by hand.
	Share Share `json:"share,omitzero"`
}

// Bucket returns the reaction of one bucket.
func (l Loads) Bucket(k Bucket) Reaction {
	switch k {
	case DC1:
		return l.DC1
	case DC2:
		return l.DC2
	}
	return l.DW
}

func (l *Loads) bucket(k Bucket) *Reaction {
	switch k {
	case DC1:
		return &l.DC1
	case DC2:
		return &l.DC2
	}
	return &l.DW
}

// Of returns the live load with the given title under a method.
func (l Loads) Of(load string, m Method) (Live, bool) {
	for _, x := range l.Live {
		if x.Load == load && x.Method == m {
			return x, true
		}
	}
	return Live{}, false
}

// Over puts what hand knows in place of what l has: each bucket and each live load by
// itself. l keeps the rest.
func (l Loads) Over(hand Loads) Loads {
	out := l
	for _, k := range Buckets() {
		if r := hand.Bucket(k); r.Known {
			*out.bucket(k) = r
		}
	}
	out.Live = append([]Live(nil), l.Live...)
next:
	for _, x := range hand.Live {
		for i := range out.Live {
			if out.Live[i].Load == x.Load && out.Live[i].Method == x.Method {
				out.Live[i] = x
				continue next
			}
		}
		out.Live = append(out.Live, x)
	}
	return out
}

// heaviestReaction catches a wrong unit. Common practice, no source.
const heaviestReaction = 1e8 // N

// Validate refuses reactions that a simple span cannot have: negative, or no number.
// A load by the same name and method twice is refused too.
func (l Loads) Validate() error {
	var v refusals
	const limit = "be from 0 to # N"
	for _, k := range Buckets() {
		if r := l.Bucket(k); r.Known {
			v.find(r.Force >= 0 && r.Force <= heaviestReaction, string(k), float64(r.Force), limit, heaviestReaction)
		}
	}
	for i := range l.Live {
		x := &l.Live[i]
		var own refusals
		if x.Load == "" || len(x.Load) > longestText {
			own.Add("load", "", "must be 1 to %d characters, got %d", longestText, len(x.Load))
		}
		if !x.Method.Known() {
			own.Add("method", string(x.Method), "must be lrfr or load_factor, got %q", string(x.Method))
		}
		own.find(x.Force >= 0 && x.Force <= heaviestReaction, "force", float64(x.Force), limit, heaviestReaction)
		for j := range i {
			if l.Live[j].Load == x.Load && l.Live[j].Method == x.Method {
				own.Add("load", x.Load, "must stand once for each method, got %q twice", x.Load)
				break
			}
		}
		if len(own.Fields) > 0 {
			v.join(at("live", i), own.Fields)
		}
	}
	return v.Err()
}

// missing names, in words, the dead loads that nobody has.
func (l Loads) missing() []string {
	var out []string
	for _, k := range Buckets() {
		if !l.Bucket(k).Known {
			out = append(out, "the dead load of "+k.Words())
		}
	}
	return out
}
