package demand

import (
	"strings"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/calc"
	"endcast/internal/domain/units"
)

var (
	safeLoad = calc.Define(calc.Def{Symbol: "W_s", Name: "safe load to post", Expr: "W/(1 - r)*(RF - r)", Dim: calc.Force, Clause: clausePosting,
		Params: []calc.Param{par("W", "gross weight of the vehicle", calc.Force), par("r", "rating factor below which it is not allowed", calc.Scalar), par("RF", "rating factor", calc.Scalar)}})
	safeLFR = calc.Define(calc.Def{Symbol: "W_s", Name: "safe load to post, load factor method", Expr: "W*RF", Dim: calc.Force, Clause: clauseLFR,
		Params: []calc.Param{par("W", "gross weight of the vehicle", calc.Force), par("RF", "rating factor", calc.Scalar)}})
)

// SafeLoad is the gross weight to post for a vehicle: all of it from a rating factor
// of 1, nothing below the least, and in a straight line between. By the load factor
// method it is the weight times the factor. A posting is the owner's decision.
func SafeLoad(p *calc.Pad, b basis.Basis, m Method, gross units.Force, rf float64) units.Force {
	least := b.Value(basis.PostingLeast)
	switch {
	case !finite(rf) || rf <= 0:
		return 0
	case rf >= 1-rounding:
		return gross
	case m == LoadFactor:
		return units.Force(safeLFR.Eval(p, float64(gross), rf))
	case rf < least:
		p.Note("the rating factor is below the least for which a load can be posted: the vehicle is not allowed")
		return 0
	}
	return units.Force(safeLoad.Eval(p, float64(gross), least, rf))
}

// Stage is how far the order of rating has to be followed.
type Stage string

// Stages, in order.
const (
	StageUnknown Stage = "unknown" // the design load could not be rated
	StageDone    Stage = "done"    // inventory carries: no legal loads need rating
	StageLegal   Stage = "legal"   // legal loads were asked and carry
	StagePosting Stage = "posting" // a legal load does not carry: post, strengthen or close
	StageClose   Stage = "close"   // not even the least load: close
)

// Screening is where one end stands in the order of rating: design load at inventory
// level, then at operating level, then legal loads, then posting.
type Screening struct {
	Method Method `json:"method"`
	Stage  Stage  `json:"stage"`
	// Governs is the place in the list of ratings of the one that decided, -1 for none.
	Governs int      `json:"governs"`
	Words   string   `json:"words"`
	Missing []string `json:"missing,omitempty"`
}

const failsUnderDead = "the factored dead load alone is more than the capacity: keep traffic off and call a licensed engineer now"

// Screen follows the order of rating through the ratings of one end under one method.
// Ratings that are missing hold it back: it never passes on what nobody knows.
func Screen(b basis.Basis, m Method, list []Rating) Screening {
	out := Screening{Method: m, Governs: -1, Stage: StageUnknown}
	inventory, operating := find(list, m, Inventory), find(list, m, Operating)
	for _, i := range [2]int{inventory, operating} {
		if i >= 0 && list[i].Known && list[i].Verdict == DeadLoad {
			return out.at(i, StageClose, failsUnderDead)
		}
	}
	if inventory >= 0 && list[inventory].Verdict == Sufficient {
		return out.at(inventory, StageDone, "the design load is carried at inventory level: legal loads need no rating")
	}
	worst, lightest, any := -1, units.Force(0), false
	for i := range list {
		x := &list[i]
		if x.Method != m || x.Class != Legal && x.Class != SpecialHauling || m == LoadFactor && x.Level != Operating {
			continue
		}
		if !x.Known || x.Verdict == Incomplete {
			out.Missing = append(out.Missing, x.Missing...)
			continue
		}
		if x.Verdict == DeadLoad {
			return out.at(i, StageClose, failsUnderDead)
		}
		if worst < 0 || x.RF < list[worst].RF {
			worst = i
		}
		if x.Posts {
			lightest, any = max(lightest, x.SafeLoad), true
		}
	}
	out.Missing = once(out.Missing)
	switch {
	case worst >= 0 && list[worst].Verdict == Insufficient && any && len(out.Missing) == 0 && lightest < units.Force(b.Value(basis.PostingClose)):
		return out.at(worst, StageClose, "no legal vehicle can be posted for the least load that keeps a bridge open: close it")
	case worst >= 0 && list[worst].Verdict == Insufficient:
		return out.at(worst, StagePosting, list[worst].Vehicle+" is not carried: strengthen, or post the safe loads")
	case len(out.Missing) > 0:
		out.Words = "legal loads cannot be rated yet: " + strings.Join(out.Missing, "; ") + " not known"
		return out
	case worst >= 0:
		return out.at(worst, StageLegal, "every legal load is carried: no posting")
	case operating >= 0 && list[operating].Verdict == Sufficient:
		return out.at(operating, StageLegal, "the design load is carried at operating level: legal loads normally are, rate them to be sure")
	}
	out.Words = "the end is not rated"
	return out
}

func (s Screening) at(i int, stage Stage, words string) Screening {
	s.Governs, s.Stage, s.Words = i, stage, words
	return s
}

// find is the place of the design load's rating at a level, the lowest of several.
func find(list []Rating, m Method, level Level) int {
	at := -1
	for i := range list {
		x := &list[i]
		if x.Method == m && x.Level == level && x.Class == Design && (at < 0 || !x.Known || list[at].Known && x.RF < list[at].RF) {
			at = i
		}
	}
	return at
}

// once drops repeated words.
func once(list []string) []string {
	var out []string
next:
	for _, w := range list {
		for _, have := range out {
			if have == w {
				continue next
			}
		}
		out = append(out, w)
	}
	return out
}
