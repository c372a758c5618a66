package demo

import (
	"slices"
	"time"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
)

// Trades of the crews.
const (
	blasting = "blasting"
	welding  = "stud welding"
	forming  = "forming"
	casting  = "casting"
	watching = "inspection"
)

// toConfirm is what each kind of access asks to have confirmed before anybody starts.
var toConfirm = map[string][]string{
	open:       {"platform inspected today"},
	lane:       {"closure permit in hand", "signs and cones set, lane handed over", "flaggers at their posts"},
	navigation: {"stoppage confirmed by the lock", "work boat and watchman on station"},
}

// setUp is set-up and hand-back in minutes of each kind of access.
var setUp = map[string][2]int{open: {45, 45}, lane: {50, 40}, navigation: {45, 45}}

// gangs are the crews of the contractor, and the inspectors, who are a crew to the plan.
var gangs = []repair.SetCrew{
	{Name: "Blast gang", Trades: []string{blasting}},
	{Name: "Steel gang", Trades: []string{welding, forming}},
	{Name: "Concrete gang", Trades: []string{forming, casting}, Note: "Eight hands with both mixers; six cannot feed them."},
	{Name: "Inspectors", Trades: []string{watching}},
}

// efforts are what steps take, by their code.
var efforts = []struct {
	code    string
	minutes int
	trades  []string
	uses    map[string]int
}{
	{"ACC", 60, nil, map[string]int{"platforms": 1}},
	{"CLN", 100, []string{blasting}, nil},
	{"MSR", 45, []string{watching}, nil},
	{"WLD", 135, []string{welding}, nil},
	{"GAU", 70, []string{watching}, nil},
	{"COR", 80, []string{forming}, map[string]int{"core bits": 1}},
	{"FRM", 120, []string{forming}, map[string]int{"forms": 1}},
	{"CST", 150, []string{casting}, map[string]int{"molds 3 x 6": 12}},
	{"STR", 60, []string{forming, casting}, nil},
	{"HRD", 30, []string{watching}, nil},
}

// onHand is what lies in the yard on the demonstration's day.
var onHand = []repair.SetStock{
	{Name: "platforms", OnHand: 3}, {Name: "forms", OnHand: 2, Note: "Two of the sets fit most ends with one spacer."}, {Name: "core bits", OnHand: 2}, {Name: "molds 3 x 6", OnHand: 60},
	{Name: repair.StudStock(0.625*units.Inch, 2.6875*units.Inch, units.US), OnHand: 84, Note: "Next delivery on the Tuesday."}, {Name: "ferrules", OnHand: 400}, {Name: "batches", OnHand: 14, Note: "Bagged premix and fibers under roof."},
}

// shifts tells how windows are planned: what each kind asks for, the crews, what steps
// take, what is on hand, and what is confirmed for the windows next after the story.
func (t *teller) shifts() {
	at := day(3, 2).Add(9 * hour)
	for i, kind := range []string{open, lane, navigation} {
		t.say("kind "+kind, authz.Contractor, at.Add(time.Duration(i)*minute), nil,
			repair.SetWindowKind{Name: kind, Confirmations: toConfirm[kind], SetupMin: setUp[kind][0], HandbackMin: setUp[kind][1], EveryDays: map[string]float64{navigation: 14}[kind]})
	}
	for i, g := range gangs {
		t.say("crew "+g.Name, authz.Contractor, at.Add(time.Duration(10+i)*minute), nil, g)
	}
	for i, e := range efforts {
		t.tell("effort "+e.code, authz.Contractor, at.Add(time.Duration(20+i)*minute), nil, false, func(s *repair.Scope) (repair.Change, error) {
			k := slices.IndexFunc(s.Steps, func(x repair.StepRow) bool { return x.Code == e.code })
			if k < 0 {
				return nil, nil
			}
			return repair.SetEffort{StepID: s.Steps[k].ID, Minutes: e.minutes, Trades: e.trades, Uses: e.uses, Source: "contractor's method statement, times of the mock-up (invented)"}, nil
		})
	}
	for i, x := range onHand {
		t.say("stock "+x.Name, authz.Contractor, day(7, 15).Add(13*hour+time.Duration(i)*minute), nil, x)
	}
	// The next stoppage is half confirmed on the eve.
	t.tell("stoppage confirmed", authz.Contractor, day(7, 15).Add(17*hour+20*minute), nil, false, func(s *repair.Scope) (repair.Change, error) {
		for _, w := range s.Windows {
			if w.Kind == navigation && w.State == repair.WindowGranted && w.StartsAt.After(cut) {
				return repair.ConfirmWindow{WindowID: w.ID, Item: toConfirm[navigation][0], Note: "lock master on the telephone"}, nil
			}
		}
		return nil, nil
	})
}
