package repair

import (
	"fmt"
	"strings"
	"time"

	"endcast/internal/domain/basis"
)

// LogsAt are the logs of a casting that speak of an end, withdrawn ones left out.
func (s *Scope) LogsAt(p Pour, endID string) []CuringLog {
	var out []CuringLog
	for _, l := range s.CuringLogs {
		if l.PourID == p.ID && l.WithdrawnAt == nil && (l.EndID == nil || *l.EndID == endID) {
			out = append(out, l)
		}
	}
	return out
}

// Curing tells whether the curing of an end is on record to its end, and if not what
// is lacking. It is where for every casting of the end somebody said when curing
// ended, and enough sensors in the concrete, one of them at the coldest point, run
// from placing until then without a gap that voids them: the numbers are settings,
// and our proposal. A signed inspection that accepts the curing record counts as
// well: logs may be kept on paper.
func (r *Record) Curing(s *Scope) (complete bool, lacks string) {
	x := r.LatestInspection("curing")
	if x != nil && x.Outcome == "accepted" {
		return true, ""
	}
	var why []string
	if x != nil {
		why = append(why, "the record of curing was looked at and not accepted")
	}
	pours := s.poursOf(r.End.ID)
	for _, p := range pours {
		if w := r.curingLacks(s, p); w != "" {
			why = append(why, fmt.Sprintf("pour %d: %s", p.Number, w))
		}
	}
	if len(pours) == 0 {
		why = append(why, "nothing is cast yet")
	}
	return len(why) == 0, strings.Join(why, "; ")
}

// curingLacks is what the curing record of one casting lacks at this end.
func (r *Record) curingLacks(s *Scope, p Pour) string {
	var until *time.Time
	for _, pe := range s.PourEnds {
		if pe.PourID == p.ID && pe.EndID == r.End.ID {
			until = pe.CuredAt
		}
	}
	if until == nil {
		return "nobody said when curing ended"
	}
	placed := p.StartedAt
	if p.EndedAt != nil {
		placed = *p.EndedAt
	}
	b := s.Basis()
	low, void := hours(b.Value(basis.CuringGapLow)), b.Value(basis.CuringGapVoid)
	whole, coldest := 0, false
	var short []string
	for _, l := range s.LogsAt(p, r.End.ID) {
		if l.Place == "air" || l.Place == "specimen" {
			continue
		}
		switch {
		case l.LongestGapH > void:
			short = append(short, fmt.Sprintf("%s has a gap of %s h", l.Sensor, number(l.LongestGapH)))
		case l.CoveredAt.After(placed.Add(low)):
			short = append(short, l.Sensor+" was covered too late after placing")
		case l.LastAt == nil || l.LastAt.Add(low).Before(*until):
			short = append(short, l.Sensor+" ends before curing did")
		default:
			whole++
			coldest = coldest || l.Place == "coldest"
		}
	}
	want := int(b.Value(basis.CuringSensors))
	if whole < want {
		short = append(short, fmt.Sprintf("%d of %d sensors in the concrete with a whole record", whole, want))
	}
	if !coldest {
		short = append(short, "none of them at the coldest point")
	}
	if whole >= want && coldest {
		return ""
	}
	return strings.Join(short, ", ")
}

func hours(h float64) time.Duration { return time.Duration(h * float64(time.Hour)) }
