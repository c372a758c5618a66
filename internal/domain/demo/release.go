package demo

import (
	"time"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/sequence"
)

// Ends of which the list before casting tells more than a release.
const (
	refusedOnce    = tonightEnd // not released at first: no spare mixer
	refusedRelease = "3N-1"     // not released: its readings were corrected
	halfTicked     = "5N-6"     // three lines ticked ahead, one waived
)

// beforeCasting tells what was decided on the list before casting of an end.
func (e end) beforeCasting() {
	at := e.asked().Add(150 * minute)
	switch e.name {
	case refusedOnce:
		e.decideRelease("refused", authz.Inspector, e.asked().Add(40*minute), repair.CastingRefused,
			"The spare mixer stands at the yard with a flat tire: none is on the platform. Ask again when it is here.")
		e.act("REL", "completed", authz.Contractor, e.asked().Add(125*minute), "Spare mixer on the platform since 14:50, started and stopped.")
	case refusedRelease:
		e.decideRelease("refused", authz.Engineer, day(7, 14).Add(10*hour), repair.CastingRefused,
			"Readings of the second row were corrected after revision 1 was approved and are thinner by up to 0.05 in. The designer looks at it again before anything is cast here.")
	case halfTicked:
		e.ticked(day(7, 14).Add(15*hour), "revision on the card is the approved one", "spare mixer, power and material on site", "molds marked with the end")
		e.waive("REL", sequence.TickList, "laboratory pick-up booked", authz.Engineer, day(7, 15).Add(11*hour),
			"Cast at night: the molds go to the field office with the crew and stand in the heated box until the laboratory comes at 07:00 anyway.")
	}
	if e.reaches("REL") {
		e.decideRelease("released", authz.Inspector, at, repair.CastingReleased, "")
	}
}

// decideRelease decides on the list as it stands at that hour.
func (e end) decideRelease(key string, by authz.Role, at time.Time, decision, reasons string) {
	e.say(e.key("release list", key), by, at, e.ref, repair.DecideRelease{Decision: decision, Reasons: reasons})
}

// ticked says of lines of the list that they are so, ahead of the request.
func (e end) ticked(at time.Time, lines ...string) {
	e.tell(e.key("release list ticks"), authz.Contractor, at, e.ref, false, func(s *repair.Scope) (repair.Change, error) {
		step := s.ReleaseStep()
		if step == nil {
			return nil, fault.New(fault.NotFound, "the sequence releases no casting")
		}
		ch := repair.TickLines{StepID: step.ID}
		for _, l := range lines {
			ch.Lines = append(ch.Lines, repair.TickIn{Line: l, Done: true})
		}
		return ch, nil
	})
}
