package demo

import (
	"iter"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/quality"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/uhpc"
	"endcast/internal/domain/units"
)

// An end that was cast stands on a mock-up accepted before, batches with their weights
// and both diameters of the flow, a curing record that is whole by its logs alone, and
// gates that were passed before the step which they open.
func TestEveryCastEndStandsOnItsRecord(t *testing.T) {
	t.Parallel()
	s := record(t)
	code := map[string]string{}
	for _, st := range s.Steps {
		code[st.ID] = st.Code
	}
	for _, p := range plans {
		r := byName(t, p.String())
		var mine []repair.Pour
		for _, q := range s.Pours {
			if slices.ContainsFunc(s.PourEnds, func(pe repair.PourEnd) bool { return pe.PourID == q.ID && pe.EndID == r.End.ID }) {
				mine = append(mine, q)
			}
		}
		if !p.reaches("CST") {
			require.Equal(t, p.String() == tonightEnd, len(mine) == 1, p)
			continue
		}
		require.Len(t, mine, 1, p)
		require.False(t, mine[0].Open)
		require.True(t, s.Program.MockupAcceptedAt.Before(mine[0].StartedAt))
		var poured float64
		for _, b := range s.Batches {
			if b.PourID != mine[0].ID {
				continue
			}
			require.NotNil(t, b.Flow1, "%s batch %d", p, b.Number)
			require.NotNil(t, b.WaterKg, "%s batch %d", p, b.Number)
			require.Positive(t, *b.PremixKg)
			require.NotEmpty(t, b.Lot)
			require.True(t, b.Refused || b.PlaceStart.Before(*b.PlacedAt))
			if !b.Refused {
				poured += (*b.PremixKg + *b.WaterKg + *b.FiberKg + *b.AdmixtureKg) / 2500 * 1000 // liters, at the density of the mix of record
			}
		}
		var into float64
		for _, pe := range s.PourEnds {
			if pe.PourID == mine[0].ID {
				into += *pe.VolumeL
			}
		}
		require.Greater(t, poured, into, "%s: what was mixed fills the forms and the molds", p)
		require.Less(t, poured, 2.2*into+20, p)

		bare := *r
		bare.Inspections = nil
		whole, lacks := bare.Curing(s)
		require.Equal(t, p.reaches("CUR"), whole, "%s: %s", p, lacks)

		rel := slices.IndexFunc(r.Releases, func(x repair.ReleaseDecision) bool { return x.Decision == repair.CastingReleased })
		require.GreaterOrEqual(t, rel, 0, "%s is released on its list", p)
		require.True(t, r.Releases[rel].At.Before(mine[0].StartedAt), p)

		done := map[string]time.Time{}
		for _, x := range r.StepRecords {
			if x.Kind == "completed" {
				done[code[x.StepID]] = x.CapturedAt
			}
		}
		for gate, step := range map[string]string{"strip": "STR", "traffic": "TRF"} {
			at := slices.IndexFunc(r.Gates, func(g repair.GateDecision) bool { return g.Gate == gate })
			require.Equal(t, p.reaches(step), at >= 0, "%s %s", p, gate)
			if at < 0 {
				continue
			}
			g := r.Gates[at]
			require.Equal(t, repair.GatePassed, g.Decision)
			require.False(t, g.At.After(done[step].Add(2*minute)), "%s %s", p, gate)
			require.GreaterOrEqual(t, float64(g.Mean), float64(14*units.Ksi))
			require.Contains(t, g.Set, "field")
		}
	}
	var who []string
	for _, d := range s.MockupDecisions {
		require.Equal(t, repair.MockupAccepted, d.Decision)
		who = append(who, d.Role)
	}
	require.ElementsMatch(t, []string{"inspector", "engineer"}, who)
}

// sensors sums up the logs of a casting.
func sensors(t *testing.T, s *repair.Scope, number int) []uhpc.Sensor {
	t.Helper()
	var out []uhpc.Sensor
	sum := func(h repair.LogHead, open iter.Seq2[uhpc.Temperature, error]) {
		if h.Pour != number {
			return
		}
		a := uhpc.NewAccumulator(h.CoveredAt, s.Basis())
		for x, err := range open {
			require.NoError(t, err)
			if !x.At.Before(h.CoveredAt) {
				require.NoError(t, a.Add(x.At, x.Value))
			}
		}
		out = append(out, uhpc.Sensor{Name: h.Sensor, Place: uhpc.Place(h.Place), Result: a.Result(s.Basis())})
	}
	for _, ch := range logged {
		switch x := ch.(type) {
		case repair.RecordCuringLog:
			sum(x.LogHead, x.Open())
		case repair.AddHandReadings:
			sum(x.LogHead, func(yield func(uhpc.Temperature, error) bool) {
				for _, r := range x.Readings {
					if !yield(uhpc.Temperature{At: r.At, Value: r.Temp}, nil) {
						return
					}
				}
			})
		}
	}
	return out
}

// What the logs and the program's own curve let expect meets what was crushed, but for
// the casting of the old premix: there the breaks were lower, which no log can know.
func TestForecastsMeetTheirBreaks(t *testing.T) {
	t.Parallel()
	s := record(t)
	b := s.Basis()
	of := map[string][]uhpc.Sensor{}
	for _, p := range s.Pours {
		of[p.ID] = sensors(t, s, p.Number)
	}
	age := func(p repair.Pour, _ uhpc.Cure, at time.Time) (float64, bool) {
		for _, x := range of[p.ID] {
			if m, ok := x.Result.At(at); ok && x.Place == uhpc.AtSpecimen && !x.Result.Void {
				return m.Maturity.AgesAt(23, b)[uhpc.Equivalent], true
			}
		}
		return 0, false
	}
	points, _ := repair.CurvePoints(s.Pours, s.Batches, s.Specimens, s.SetReviews, age, b)
	require.Greater(t, len(points), 40)
	curve, ok := uhpc.FitCurve(points, 23, b).Strengthening(b)
	require.True(t, ok, "the program has a curve of its own")
	met, below := 0, 0
	for _, p := range s.Pours {
		g, ok := uhpc.Govern(of[p.ID], b)
		if p.MockupID != nil || !ok {
			continue
		}
		require.False(t, g.Air)
		f := uhpc.NewForecast(curve, *p.EndedAt, &of[p.ID][g.Sensor].Result, nil, b)
		for _, set := range s.SetsOf(p) {
			st := set.Stats(b)
			if set.Cure != uhpc.FieldCure || st.State != uhpc.Sound {
				continue
			}
			want := f.At(set.Specimens[0].Broken)
			if p.StartedAt.Equal(pourOf(t, oldPremix).at) {
				require.Less(t, float64(st.Mean), float64(want.Low), "the old premix")
				below++
				continue
			}
			require.GreaterOrEqual(t, float64(st.Mean), float64(want.Low), "%s at %g h: age %v", set.Batch, set.NominalHours, want.Ages)
			require.LessOrEqual(t, float64(st.Mean), float64(want.High), "%s at %g h: age %v", set.Batch, set.NominalHours, want.Ages)
			met++
		}
	}
	require.Greater(t, met, 30)
	require.Equal(t, 1, below)
}

func TestLoggersWriteNumbers(t *testing.T) {
	t.Parallel()
	for _, p := range pours() {
		file := string(p.heat().table([]string{"coldest", "air"}, p.cureEnd(), 20*minute))
		require.NotContains(t, file, "NaN", p.key)
		require.Greater(t, strings.Count(file, "\n"), 280)
	}
}

func TestEventsOfTheCastings(t *testing.T) {
	t.Parallel()
	s := record(t)
	n := map[string]int{}
	for _, b := range s.Batches {
		if b.Refused {
			n["batch refused"]++
			require.NotEmpty(t, b.RefusedWhy)
			require.Greater(t, *b.WaterKg, 1.15**b.WaterTarget, "water taken twice shows on the scale")
		}
		if b.DecidedAt != nil {
			n["batch let stand"]++
			require.Greater(t, b.PlacedAt.Sub(b.MixedAt), 30*minute)
			require.NotEmpty(t, b.DecidedBy)
		}
	}
	for _, x := range s.Specimens {
		if x.LostAt != nil {
			n["specimen lost"]++
		}
		if x.ExcludedAt != nil {
			n["break left out"]++
		}
	}
	for _, p := range s.Pours {
		if p.Open {
			n["pour open"]++
			require.Less(t, cut.Sub(p.StartedAt), 90*minute)
		}
		for _, set := range s.SetsOf(p) {
			st := set.Stats(s.Basis())
			switch {
			case st.State == uhpc.Review:
				n["set held for review"]++
			case set.Reviewed != "" && st.State == uhpc.Sound:
				n["set reviewed"]++
			}
		}
	}
	for _, l := range s.CuringLogs {
		switch {
		case l.LongestGapH > 6:
			n["log void"]++
		case l.LongestGapH > 2:
			n["log with a gap"]++
		case l.Kind == "hand":
			n["log by hand"]++
		}
		require.Less(t, float64(l.Hottest), 60., "no concrete of the story was hotter than field heat may be")
	}
	for _, r := range s.Ends {
		for _, w := range r.Waivers {
			n["waiver"]++
			require.NotEmpty(t, w.ByName)
			require.Equal(t, r.End.Name != halfTicked, r.State[0].Closed, "waived by name and closed, but for the end that is still to be cast")
		}
		for _, x := range r.Nonconformances {
			if strings.HasPrefix(x.Origin, "strength_test ") {
				n["raised by rule"]++
				require.Equal(t, "5F-6", r.End.Name)
				require.Contains(t, x.Found, "19.0")
			}
		}
		for _, c := range r.DeckCores {
			if c.BarCut && c.Outcome == "accepted" {
				n["bar cut with leave"]++
				require.NotEmpty(t, c.Leave)
			}
		}
		for _, c := range r.Photos {
			if c.X != nil {
				n["pins"]++
			}
		}
		require.Equal(t, len(r.Photos) > 0, planOf(r.End.Name).reaches("CLN"), r.End.Name)
	}
	require.Greater(t, n["pins"], 150)
	delete(n, "pins")
	require.Equal(t, map[string]int{"batch refused": 1, "batch let stand": 1, "specimen lost": 1, "break left out": 1, "pour open": 1, "set held for review": 1, "set reviewed": 1,
		"log void": 1, "log with a gap": 1, "log by hand": 2, "waiver": 2, "raised by rule": 1, "bar cut with leave": 2}, n)
	for name := range gauged {
		r := byName(t, name)
		if !planOf(name).reaches("GAU") {
			require.Empty(t, r.Sensors, name)
			continue
		}
		require.Len(t, r.Sensors, 7, name)
		for _, x := range r.Sensors {
			require.NoError(t, x.Monitor().Validate(s.Basis()))
			require.True(t, x.InstalledAt.Before(planOf(name).cast) || planOf(name).cast.IsZero(), "before the panel: there is a state to compare with")
		}
	}
	info, known := quality.Disposition("use_as_is").Info()
	require.True(t, known && info.Concession)
}

// The list before casting: released at every end that was cast, refused at two, half
// ticked with one line waived by name at another.
func TestListsBeforeCasting(t *testing.T) {
	t.Parallel()
	s := record(t)
	decided := func(name string) (out []string) {
		for _, x := range byName(t, name).Releases {
			require.NotEmpty(t, x.Evidence)
			out = append(out, x.Decision)
		}
		return out
	}
	require.Equal(t, []string{"refused", "released"}, decided(refusedOnce))
	require.Equal(t, []string{"refused"}, decided(refusedRelease))
	require.Empty(t, decided(waitingForRelease))
	require.Empty(t, decided(halfTicked))
	x, err := byName(t, halfTicked).ReleaseNow(s, repair.Wording{System: units.US, When: func(at time.Time) string { return at.Format(time.DateTime) }})
	require.NoError(t, err)
	ticked, waived, open := 0, "", 0
	for _, l := range x.Lines {
		switch {
		case !l.Person:
		case l.Met:
			ticked++
		case l.Waiver != nil:
			waived = l.Title + ", " + l.Waiver.ByName
		default:
			open++
		}
	}
	require.Equal(t, 3, ticked)
	require.Equal(t, "laboratory pick-up booked, Ruben Tallis", waived)
	require.Equal(t, 3, open)
}
