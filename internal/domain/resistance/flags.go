package resistance

import (
	"strconv"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/calc"
	"endcast/internal/domain/girder"
	"endcast/internal/domain/survey"
)

// Flag is something the reader must know beside the numbers.
type Flag struct {
	Key  string // for example "thin_web"
	Text string
	// Blocks marks a state that the method was not made for: the checks that it
	// touches are never shown as a pass.
	Blocks bool
}

// flags looks for the states that the rules were not made for, and returns them
// as flags and as limits: those of the end, which the web and the stiffeners share,
// and those of the web, which touch the flow of shear as well.
func (pr Procedure) flags(b basis.Basis, g girder.Geometry, s *survey.Survey, r Reduced, slender float64, read bool) (out []Flag, end, web []calc.Limit) {
	l, lw := limits{read: read}, limits{read: read}
	raise := func(blocks bool, key, text string) { out = append(out, Flag{Key: key, Text: text, Blocks: blocks}) }

	if pr.unchecked() {
		raise(true, "unchecked_procedure", "the procedure "+pr.Name+" has not been checked against its licensed text by an engineer")
		l.holds("an engineer has checked the procedure against its licensed text", false)
	}
	// A web that can roll sideways needs full-depth stiffeners, AISC 360-22 J10.7.
	held := g.HeldAgainstRoll || r.Plates
	l.holds("the end is held against roll, or has full-depth bearing stiffeners", held)
	if !held {
		raise(true, "not_held", "nothing holds this end against roll about its own axis: full-depth stiffeners or a diaphragm are needed")
	}
	l.flange(b, raise, r)
	if g.Stiffener != nil && !r.Plates {
		raise(false, "stiffener_lost", "the bearing stiffeners no longer reach the flange: the end counts as unstiffened")
	}
	pr.pattern(&lw, raise, g, s, r)

	thin, loss := b.Value(basis.WebThinSlenderness), b.Value(basis.WebThinLoss)
	if slender > thin || r.Loss > loss {
		raise(false, "thin_web", "thin web (slenderness "+plain(slender)+", loss "+percent(r.Loss)+
			"): the European rule reads lower than the governing one, look at both")
	}
	return out, l.list, lw.list
}

// flange looks at what is left of the bottom flange: the rules of the web count on
// it to hold the web in place and to spread the reaction.
func (l *limits) flange(b basis.Basis, raise func(bool, string, string), r Reduced) {
	left := float64(r.Flange / r.FlangeAsBuilt)
	switch limit := b.Value(basis.WebFlangeLeft); {
	case !(r.Flange > sliver):
		raise(true, "flange_gone", "no bottom flange is left over the bearing")
		l.holds("some bottom flange is left over the bearing", false)
	case left < limit*(1-rounding):
		raise(true, "flange_lost", percent(left)+" of the bottom flange is left over the bearing: outside the range of the rules, an engineer must judge")
		l.atLeast("the bottom flange left over the one as built", left, limit)
	case l.read && left < 1:
		l.atLeast("the bottom flange left over the one as built", left, limit)
	}
}

// pattern looks at what the survey found beside thickness.
func (pr Procedure) pattern(l *limits, raise func(bool, string, string), g girder.Geometry, s *survey.Survey, r Reduced) {
	if s == nil {
		return
	}
	const beyond = ": outside the range of the rules, an engineer must judge"
	hole := float64(r.HoleLongest / g.Bearing.Length)
	l.atMost("the longest hole along the flange over the bearing length", hole, pr.HoleLimit)
	if hole > pr.HoleLimit*(1+rounding) {
		raise(true, "long_hole", "a hole along the flange is "+plain(hole)+" times the bearing length"+beyond)
	}
	l.holds("the web is attached to the flange over the bearing", !(s.WebDetached > 0))
	if s.WebDetached > 0 {
		raise(true, "web_detached", "the web is detached from the flange over the bearing"+beyond)
	}
	if s.WebDeviation > 0 {
		lean := float64(s.WebDeviation / r.ZoneMean)
		l.below("web out of plumb over its mean thickness", lean, pr.DeviationLimit)
		switch {
		case !(lean < pr.DeviationLimit):
			raise(true, "deviation", "the web is out of plumb by "+plain(lean)+" of its mean thickness"+beyond)
		case lean >= pr.DeviationFlag:
			raise(false, "deviation", "the web is out of plumb by "+plain(lean)+" of its mean thickness: tests show that this can make the prediction unsafe")
		}
	}
	if r.Readings < pr.FewestReadings {
		raise(false, "few_readings", strconv.Itoa(r.Readings)+" readings in the zone above the bearing, at least "+strconv.Itoa(pr.FewestReadings)+" are wanted")
	}
	if r.NoAccess > 0 {
		raise(false, "no_access", strconv.Itoa(r.NoAccess)+" places could not be read and were taken from their neighbors")
	}
	if r.Unread {
		raise(false, "unread", "part of the web above the bearing was not read and was taken as built")
	}
}

func percent(v float64) string { return strconv.FormatFloat(100*v, 'f', 0, 64) + "%" }
