package demo

import (
	"slices"
	"sync"
	"time"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/repair"
)

// trouble is what became of a window that did not go as planned.
type trouble struct {
	state, party, reason string
	hours                float64 // productive, of a shortened one
}

// troubles are by access and day.
var troubles = map[string]map[string]trouble{
	open: {
		"03-15": {"lost", "weather", "rain all day; no blast or weld under the joint", 0},
		"04-12": {"lost", "weather", "rain", 0},
		"05-03": {"lost", "contractor", "containment inspection failed; tarps renewed", 0},
		"05-18": {"shortened", "weather", "thunderstorm from 11:00", 3},
		"06-14": {"lost", "weather", "wind above the limit for the hung platform", 0},
		"07-05": {"lost", "owner", "day without work by the contract", 0},
	},
	lane: {
		"03-17": {"lost", "contractor", "no crew for the closure", 0},
		"04-15": {"lost", "weather", "rain", 0},
		"04-27": {"shortened", "owner", "closure put up late after a crash on the approach", 3.5},
		"05-05": {"lost", "owner", "night kept free for a wide load", 0},
		"05-26": {"lost", "contractor", "no crew for the closure", 0},
		"06-10": {"lost", "weather", "thunderstorm", 0},
		"06-16": {"shortened", "contractor", "arrow board failed; closure put up at 23:40", 4},
		"06-29": {"lost", "owner", "Route 88 kept open for a diversion", 0},
		"07-15": {"lost", "contractor", "closure crew called away to a crash elsewhere", 0},
	},
	navigation: {
		"03-27": {"lost", "navigation", "stoppage withdrawn: late barges", 0},
		"05-22": {"shortened", "navigation", "boats let through until 01:00", 2.5},
		"06-05": {"lost", "weather", "high water; the work boat stayed at its berth", 0},
	},
}

// lastPlanned is the end of the calendar that is planned.
var lastPlanned = day(8, 28)

// calendar lists the windows of the season in order, with what became of each.
var calendar = sync.OnceValue(func() []repair.Window {
	var out []repair.Window
	add := func(kind string, d time.Time, length time.Duration, productive float64) {
		w := repair.Window{Kind: kind, StartsAt: d.Add(shiftStart[kind]).UTC(), EndsAt: d.Add(shiftStart[kind] + length).UTC(), ProductiveH: productive, State: "used"}
		if tr, ok := troubles[kind][d.Format("01-02")]; ok {
			w.State, w.Party, w.Reason, w.ProductiveH = tr.state, tr.party, tr.reason, tr.hours
		}
		out = append(out, w)
	}
	for d := day(3, 8); !d.After(lastPlanned); d = d.AddDate(0, 0, 1) {
		switch d.Weekday() {
		case time.Monday, time.Tuesday, time.Thursday, time.Friday:
			add(open, d, 8*hour+30*minute, 6.5)
		}
		switch d.Weekday() {
		case time.Tuesday, time.Wednesday, time.Thursday:
			add(lane, d, 7*hour, 5.5)
		}
	}
	for d := day(3, 13); !d.After(day(11, 19)); d = d.AddDate(0, 0, 14) {
		add(navigation, d, 5*hour+30*minute, 4)
	}
	slices.SortStableFunc(out, func(a, b repair.Window) int { return a.StartsAt.Compare(b.StartsAt) })
	return out
})

// windows tells of the calendar: planned ahead, granted the week before, and what
// became of it written up every Friday.
func (t *teller) windows() {
	for d := day(2, 26); d.Before(Today); d = d.AddDate(0, 0, 7) {
		t.post(d.Add(16 * hour))
	}
	t.post(day(7, 15).Add(17 * hour))
}

// post is one writing-up of the calendar.
func (t *teller) post(at time.Time) {
	var now []repair.Window
	for _, w := range calendar() {
		became := w
		switch {
		case w.EndsAt.Before(at), w.State == "lost" && w.StartsAt.Before(at.Add(6*hour)):
		case w.Kind == lane && w.StartsAt.After(cut):
			// Closures of the coming week are not granted yet.
			became = asPlanned(w, "planned")
			if w.StartsAt.After(at.AddDate(0, 0, 44)) {
				continue
			}
		case w.StartsAt.Before(at.AddDate(0, 0, 9)):
			became = asPlanned(w, "granted")
		case w.StartsAt.Before(at.AddDate(0, 0, 44)) || w.Kind == navigation:
			became = asPlanned(w, "planned")
		default:
			continue
		}
		now = append(now, became)
	}
	key := "windows " + at.Format(time.DateOnly)
	t.tell(key, authz.Contractor, at, nil, false, func(s *repair.Scope) (repair.Change, error) {
		var ch repair.SetWindows
		for _, w := range now {
			i := slices.IndexFunc(s.Windows, func(x repair.Window) bool { return x.Kind == w.Kind && x.StartsAt.Equal(w.StartsAt) })
			if i >= 0 {
				w.ID, w.ProgramID = s.Windows[i].ID, s.Windows[i].ProgramID
				if s.Windows[i] == w {
					continue
				}
			}
			ch.Windows = append(ch.Windows, w)
		}
		if len(ch.Windows) == 0 {
			return nil, nil
		}
		return ch, nil
	})
	if n := len(t.steps); n > 0 && t.steps[n-1].Key == key {
		t.steps[n-1].AllEnds = true
	}
}

// asPlanned is a window before anything befell it.
func asPlanned(w repair.Window, state string) repair.Window {
	w.State, w.Party, w.Reason = state, "", ""
	w.ProductiveH = map[string]float64{open: 6.5, lane: 5.5, navigation: 4}[w.Kind]
	return w
}
