package repair

import (
	"endcast/internal/domain/calc"
	"endcast/internal/domain/survey"
)

// PreviewSurvey evaluates findings that are not stored: what they leave of the
// end, with everything a reader must know beside the numbers, and the deepest loss
// of web thickness, 0 to 1. The findings must have been validated.
func (r *Record) PreviewSurvey(s *Scope, sv survey.Survey) (ev *Evaluation, loss float64) {
	ev = r.EvaluateSurvey(s, sv, calc.NewPad())
	return ev, deepestLoss(&sv, r.Geometry(s).Section.WebThickness)
}
