package demo

import (
	"time"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/uhpc"
)

// tonightEnd is the end that is being cast when the story stops: in an evening closure
// of its own, before the night that was lost.
const tonightEnd = "5N-5"

// evening is that closure.
var evening = repair.Window{Kind: lane, StartsAt: day(7, 15).Add(16*hour + 30*minute).UTC(), EndsAt: day(7, 15).Add(21*hour + 45*minute).UTC(), ProductiveH: 4, State: "used"}

// tonight tells of the casting that is open: the first batch is placed, the next is due.
func (t *teller) tonight() {
	e := planOf(tonightEnd)
	p := pour{key: "5N 0715", at: e.cast.Add(95 * minute), ends: []plan{e}}
	ref := names(p.ends)
	t.tell("pour "+p.key+" opened", authz.Inspector, p.at.Add(minute), ref, false, func(s *repair.Scope) (repair.Change, error) {
		a, err := amountsOf(s)
		if err != nil {
			return nil, err
		}
		ch := repair.OpenPour{StartedAt: p.at.UTC(), Weather: p.weather(), FormHead: &a.Forms[0].Head, Note: "Evening closure for this end alone; lane handed back at 21:45."}
		ch.WindowID, ch.LastBatchBy = p.window(s)
		return ch, nil
	})
	placed := p.at.Add(34 * minute)
	t.tell("pour "+p.key+" batch 1", authz.Inspector, placed.Add(2*minute), ref, false, func(s *repair.Scope) (repair.Change, error) {
		q, err := p.of(s)
		if err != nil {
			return nil, err
		}
		a, err := amountsOf(s)
		if err != nil {
			return nil, err
		}
		b := p.batch(1, a)
		started, begun := p.at.Add(6*minute).UTC(), placed.Add(-11*minute).UTC()
		at := placed.UTC()
		b.StartedAt, b.MixedAt, b.PlaceStart, b.PlacedAt = &started, p.at.Add(18*minute).UTC(), &begun, &at
		b.Ends = []repair.BatchEndIn{{EndID: s.Ends[0].End.ID}}
		sets := []repair.SpecimenSet{{Kind: string(uhpc.Cylinder3x6), Curing: "standard", NominalDays: 28, Count: 3, Purpose: string(uhpc.ForAcceptance)}}
		return repair.AddBatch{Pour: q.Number, Batch: b, Specimens: sets}, nil
	})
}

// eveningPosted is the writing-up of that closure: asked for and granted in the week
// before, in use on the day.
func (t *teller) eveningPosted() {
	for _, x := range []struct {
		key   string
		at    time.Time
		state string
	}{{"asked", day(7, 9).Add(15 * hour), "planned"}, {"granted", day(7, 13).Add(11 * hour), "granted"}, {"in use", evening.StartsAt.In(zone).Add(10 * minute), "used"}} {
		w := evening
		w.State = x.state
		key := "evening closure " + x.key
		t.tell(key, authz.Contractor, x.at, nil, false, func(s *repair.Scope) (repair.Change, error) {
			for _, have := range s.Windows {
				if have.Kind == w.Kind && have.StartsAt.Equal(w.StartsAt) {
					w.ID, w.ProgramID = have.ID, have.ProgramID
				}
			}
			return repair.SetWindows{Windows: []repair.Window{w}}, nil
		})
		if n := len(t.steps); n > 0 && t.steps[n-1].Key == key {
			t.steps[n-1].AllEnds = true
		}
	}
}
