package repair_test

import (
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
)

// nightOf makes a bridge of some ends that wait for their first step in a window of a track outage.
func nightOf(t require.TestingT, ends int) (*story, repair.Window) {
	s := begin(t)
	first := s.Ends[0]
	// A scope that has not read its sequence yet; the second step needs no window, so that an end offers one step.
	s.Scope = &repair.Scope{Program: s.Program, Steps: s.Steps, Supports: s.Supports, Spans: s.Spans, Sections: s.Sections}
	s.Steps[1].WindowKind = ""
	for i := range ends {
		r := *first
		r.End.ID, r.End.Name, r.End.Access = fmt.Sprintf("end-%d", i), fmt.Sprintf("1N-%d", i+1), "track outage"
		r.State = []repair.State{{EndID: r.End.ID, Reserve: 1}}
		s.Ends = append(s.Ends, &r)
	}
	from := time.Date(2027, 7, 17, 23, 30, 0, 0, time.UTC)
	w := repair.Window{ID: "w", ProgramID: "p", Kind: "track outage", StartsAt: from, EndsAt: from.Add(5 * time.Hour), ProductiveH: 5, State: repair.WindowGranted}
	s.Windows = []repair.Window{w}
	s.Shifts.Kinds = []repair.WindowKind{{Name: "track outage", Confirmations: []string{"power isolated", "watchman"}, SetupMin: 40, HandbackMin: 20}}
	return s, w
}

func (s *story) planned(t require.TestingT, w repair.Window, cut int) repair.Night {
	n, err := repair.PlanNight(s.Scope, w, cut, time.UTC)
	require.NoError(t, err)
	return n
}

func lineOf(t require.TestingT, n repair.Night, end string) repair.NightLine {
	for _, l := range n.Lines {
		if l.EndID == end {
			return l
		}
	}
	require.Fail(t, "no line of "+end)
	return repair.NightLine{}
}

func TestANightGivesTheWeakestEndsFirstAndKeepsWhatPeopleChose(t *testing.T) {
	s, w := nightOf(t, 3)
	s.Ends[1].State[0].Reserve = 0.6
	n := s.planned(t, w, 0)
	require.Equal(t, 240, n.NetMin, "five hours less 40 and 20 minutes")
	require.Equal(t, []string{"power isolated", "watchman"}, n.Unconfirmed)
	require.Equal(t, "no crew is named for this window", n.Lines[0].Reason)

	s.Shifts.Crews = []repair.Crew{{ID: "c1", Name: "day gang", Kinds: []string{"road closure"}}, {ID: "c2", Name: "night gang"}}
	n = s.planned(t, w, 0)
	require.True(t, lineOf(t, n, "end-1").Go)
	require.Len(t, gone(n), 2, "a step without minutes takes the two hours of the basis")
	require.True(t, n.Lines[0].Steps[0].Assumed)
	require.Equal(t, "no crew has time left for it", lineOf(t, n, n.Lines[2].EndID).Reason)
	require.True(t, n.Best)
	require.Zero(t, n.Gap)

	n = s.planned(t, w, 70)
	require.Equal(t, 170, n.NetMin)
	require.Equal(t, []string{"end-1"}, gone(n), "the weakest is left when the window is cut")
	_, err := repair.PlanNight(s.Scope, w, 301, time.UTC)
	require.ErrorContains(t, err, "300 minutes")

	gang := "c2"
	s.Shifts.Choices = []repair.WindowChoice{{ID: "k", WindowID: "w", EndID: "end-0", CrewID: &gang, Steps: 1, ByName: "A. Person"}}
	require.Equal(t, []string{"end-0"}, gone(s.planned(t, w, 70)), "the choice is kept although another end is worth more")
	n = s.planned(t, w, 200)
	require.Empty(t, gone(n))
	require.Equal(t, "it takes 120 minutes and night gang has 40 left", lineOf(t, n, "end-0").Broken)
	require.NotNil(t, lineOf(t, n, "end-0").Choice, "said, not dropped")
	s.Shifts.Choices[0].CrewID, s.Shifts.Choices[0].Reason = nil, "hoist is away"
	require.Equal(t, "left out by A. Person: hoist is away", lineOf(t, s.planned(t, w, 0), "end-0").Reason)
}

func gone(n repair.Night) (out []string) {
	for _, l := range n.Lines {
		if l.Go {
			out = append(out, l.EndID)
		}
	}
	return out
}

// Each end has one reason, and the first of the order.
func TestTheOneReasonOfANight(t *testing.T) {
	s, w := nightOf(t, 2)
	s.Shifts.Crews = []repair.Crew{{ID: "c", Name: "gang", Trades: []string{"cast"}}}
	s.Shifts.Efforts = []repair.StepEffort{{StepID: s.Steps[0].ID, Minutes: 60, Trades: []string{"rigging"}, Uses: map[string]int{"platforms": 1}}}
	require.Equal(t, "no crew is qualified for Access set", s.planned(t, w, 0).Lines[0].Reason)
	s.Shifts.Efforts[0].Minutes, s.Shifts.Efforts[0].Trades = 241, nil
	require.Equal(t, "Access set takes 241 minutes; the window leaves 240", s.planned(t, w, 0).Lines[0].Reason, "overfull")
	s.Shifts.Efforts[0].Minutes = 60
	s.Shifts.Stock = []repair.ShiftStock{{Name: "platforms", OnHand: 1}}
	n := s.planned(t, w, 0)
	require.Len(t, gone(n), 1)
	require.Equal(t, map[string]int{"platforms": 1}, n.Need)
	require.Equal(t, "the other ends take every one of platforms", n.Lines[1].Reason)
	s.Ends[1].End.Access = "road closure"
	require.Contains(t, lineOf(t, s.planned(t, w, 0), "end-1").Reason, "road closure")
	w.State, w.Reason = repair.WindowLost, "storm"
	require.Equal(t, "the window was lost: storm", s.planned(t, w, 0).Lines[0].Reason)
}

// In 2027 the clocks of New York go forward on 14 March and back on 7 November (Energy Policy Act of 2005, sec. 110: second
// Sunday of March, first of November), so that nights from 22:00 to 06:00 last 7 h and 9 h.
func TestANightOnWhichTheClockIsMovedHasItsTrueLength(t *testing.T) {
	zone, err := time.LoadLocation("America/New_York")
	require.NoError(t, err)
	for _, c := range []struct {
		month   time.Month
		day     int
		minutes int
		moved   time.Duration
	}{{3, 13, 420, time.Hour}, {11, 6, 540, -time.Hour}, {7, 17, 480, 0}} {
		w := repair.Window{Kind: "x", StartsAt: time.Date(2027, c.month, c.day, 22, 0, 0, 0, zone), EndsAt: time.Date(2027, c.month, c.day+1, 6, 0, 0, 0, zone), ProductiveH: 24}
		require.Equal(t, c.minutes, repair.Shifts{}.NetMinutes(w, 0))
		require.Equal(t, c.moved, w.ClockMoved(zone))
	}
}

// The studs that a night needs are those of the approved design, by size, with a ferrule each.
func TestANightCountsStudsBySize(t *testing.T) {
	s := proposed(t)
	d := s.Ends[0].DesignInForce()
	require.NotNil(t, d)
	require.Equal(t, "studs 3/4 x 4 in", repair.StudStock(19.05, 101.6, units.US))
	require.Equal(t, "studs 19 x 102 mm", repair.StudStock(19.05, 101.6, units.SI))
	want := len(s.Ends[0].StudsOf(d.ID))
	require.Positive(t, want)
	uses := s.Ends[0].Materials(s.Scope, "WLD")
	require.Equal(t, want, uses[repair.StudStock(d.StudDiameter, d.StudHeight, units.System(s.Program.Units))])
	require.Equal(t, want, uses["ferrules"])
	require.Positive(t, s.Ends[0].Materials(s.Scope, "CST")["batches"])
}

// Beside every way of giving the ends to the crews.
func TestANightIsTheBestOfAllWays(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		ends, crews := rapid.IntRange(1, 4).Draw(t, "ends"), rapid.IntRange(1, 2).Draw(t, "crews")
		s, w := nightOf(t, ends)
		minutes, cut := rapid.IntRange(30, 200).Draw(t, "minutes"), rapid.IntRange(0, 200).Draw(t, "cut")
		have := rapid.IntRange(0, 4).Draw(t, "on hand")
		for i := range crews {
			s.Shifts.Crews = append(s.Shifts.Crews, repair.Crew{ID: fmt.Sprint(i), Name: fmt.Sprint("gang ", i)})
		}
		s.Shifts.Efforts = []repair.StepEffort{{StepID: s.Steps[0].ID, Minutes: minutes, Uses: map[string]int{"platforms": 1}}}
		s.Shifts.Stock = []repair.ShiftStock{{Name: "platforms", OnHand: have}}
		worth := make([]float64, ends)
		for i, r := range s.Ends {
			reserve := float64(rapid.IntRange(5, 12).Draw(t, "reserve")) / 10
			r.State[0].Reserve = reserve
			worth[i] = 1 + 10*max(0, 1-reserve)
		}
		n := s.planned(t, w, cut)
		best := 0.0
		ways := 1
		for range ends {
			ways *= crews + 1
		}
		for way := range ways {
			load, sum, used := make([]int, crews), 0.0, 0
			for i, x := 0, way; i < ends; i, x = i+1, x/(crews+1) {
				if c := x % (crews + 1); c < crews {
					load[c], sum, used = load[c]+minutes, sum+worth[i], used+1
				}
			}
			fits := used <= have
			for _, m := range load {
				fits = fits && m <= 240-cut
			}
			if fits {
				best = max(best, sum)
			}
		}
		require.InDelta(t, best, n.Worth, 1e-9)
		require.True(t, n.Best)
	})
}

func TestACastingOfANightSaysWhenItsSpecimensAreOfAge(t *testing.T) {
	s, w := nightOf(t, 1)
	// The calendar: 4 and 28 days after Saturday 17 July 2027 are Wednesday the 21st and Saturday 14 August.
	shut := map[string]bool{}
	for _, x := range repair.BreaksOf(s.Scope, w.StartsAt, time.UTC) {
		shut[fmt.Sprint(x.Days, x.At.Format(" Mon 01-02"))] = x.Shut
	}
	require.Equal(t, map[string]bool{"2 Mon 07-19": false, "4 Wed 07-21": false, "28 Sat 08-14": true}, shut)
}
