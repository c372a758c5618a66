package assign

import (
	"fmt"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func step(name string, minutes int, worth float64, trades ...string) Step {
	return Step{ID: name, Name: name, Minutes: minutes, Worth: worth, Trades: trades}
}

// drawNight is a small night: few enough to try every plan.
func drawNight(t *rapid.T) Night {
	n := Night{Stock: map[string]int{"forms": rapid.IntRange(0, 3).Draw(t, "forms")}}
	trades := []string{"blast", "weld", "cast"}
	for i := range rapid.IntRange(1, 3).Draw(t, "crews") {
		n.Crews = append(n.Crews, Crew{Name: fmt.Sprint("crew ", i), Minutes: rapid.IntRange(0, 240).Draw(t, "minutes"),
			Trades: trades[:rapid.IntRange(1, 3).Draw(t, "trades")]})
	}
	for i := range rapid.IntRange(0, 5).Draw(t, "ends") {
		c := Course{End: fmt.Sprint("end ", i)}
		for k := range rapid.IntRange(1, 2).Draw(t, "steps") {
			st := step(fmt.Sprint("step ", k), rapid.IntRange(20, 150).Draw(t, "length"), float64(rapid.IntRange(0, 20).Draw(t, "worth")))
			if tr := rapid.IntRange(0, 3).Draw(t, "trade"); tr < 3 {
				st.Trades = []string{trades[tr]}
			}
			if rapid.Bool().Draw(t, "form") {
				st.Uses = map[string]int{"forms": 1}
			}
			c.Steps = append(c.Steps, st)
		}
		n.Courses = append(n.Courses, c)
	}
	return n
}

// everyPlan tries each way to give ends to crews, by a rule that shares nothing with the search.
func everyPlan(n Night) float64 {
	best := 0.0
	type state struct {
		minutes []int
		forms   int
	}
	var try func(i int, st state, worth float64)
	try = func(i int, st state, worth float64) {
		if i == len(n.Courses) {
			best = max(best, worth)
			return
		}
		try(i+1, st, worth)
		for c, crew := range n.Crews {
			left, forms, sum := st.minutes[c], st.forms, worth
			for _, s := range n.Courses[i].Steps {
				able := len(s.Trades) == 0
				for _, t := range s.Trades {
					able = able || slices.Contains(crew.Trades, t)
				}
				left, forms, sum = left-s.Minutes, forms-s.Uses["forms"], sum+s.Worth
				if !able || left < 0 || forms < 0 {
					break
				}
				next := state{slices.Clone(st.minutes), forms}
				next.minutes[c] = left
				try(i+1, next, sum)
			}
		}
	}
	var minutes []int
	for _, c := range n.Crews {
		minutes = append(minutes, c.Minutes)
	}
	try(0, state{minutes, n.Stock["forms"]}, 0)
	return best
}

func TestNoPlanIsWorthMore(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := drawNight(t)
		p, err := Propose(n)
		require.NoError(t, err)
		require.True(t, p.Best)
		require.InDelta(t, everyPlan(n), p.Worth, 1e-9)
		holds(t, n, p)
	})
}

// A search that is cut short still gives a plan that can be worked, and a bound that is one.
func TestACutSearchKeepsItsBound(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := drawNight(t)
		n.Nodes = rapid.IntRange(1, 6).Draw(t, "nodes")
		p, err := Propose(n)
		require.NoError(t, err)
		holds(t, n, p)
		require.GreaterOrEqual(t, p.Bound+1e-9, everyPlan(n))
		require.GreaterOrEqual(t, p.Gap(), 0.0)
	})
}

type failer interface {
	Errorf(string, ...any)
	FailNow()
}

// holds checks that a plan can be worked: time, trades, stock, order, each end once, every end told.
func holds(t failer, n Night, p Plan) {
	seen, until, forms, worth := map[string]bool{}, map[string]int{}, 0, 0.0
	for _, pl := range p.Places {
		require.False(t, seen[pl.End])
		seen[pl.End] = true
		c := n.Courses[slices.IndexFunc(n.Courses, func(c Course) bool { return c.End == pl.End })]
		crew := n.Crews[slices.IndexFunc(n.Crews, func(c Crew) bool { return c.Name == pl.Crew })]
		sum := 0
		for _, s := range c.Steps[:pl.Steps] {
			sum, forms, worth = sum+s.Minutes, forms+s.Uses["forms"], worth+s.Worth
			require.True(t, qualified(crew, s))
		}
		require.Equal(t, until[pl.Crew], pl.From)
		require.Equal(t, pl.From+sum, pl.To)
		require.LessOrEqual(t, pl.To, crew.Minutes)
		until[pl.Crew] = pl.To
	}
	require.LessOrEqual(t, forms, n.Stock["forms"])
	require.InDelta(t, p.Worth, worth, 1e-9)
	require.Len(t, p.Left, len(n.Courses)-len(p.Places))
	for _, l := range p.Left {
		require.False(t, seen[l.End])
		require.NotEmpty(t, l.Reason)
	}
}

// A night of the worked example: three crews, 240 minutes, a casting first, then a strip, then cleaning; four ends more
// could be cleaned and no crew is left for them.
func night() Night {
	n := Night{Crews: []Crew{{"cast crew", []string{"cast", "strip"}, 240}, {"form crew", []string{"strip", "clean"}, 240}, {"blast crew", []string{"clean"}, 240}}}
	n.Courses = []Course{
		{End: "3N-1", Steps: []Step{step("cast", 230, 9, "cast")}},
		{End: "2F-1", Steps: []Step{step("strip", 200, 6, "strip")}},
		{End: "2F-3", Steps: []Step{step("clean", 180, 5, "clean")}},
		{End: "2F-5", Steps: []Step{step("clean", 180, 4, "clean")}},
		{End: "3N-4"},
	}
	return n
}

func TestANightIsFilledByWorth(t *testing.T) {
	p, err := Propose(night())
	require.NoError(t, err)
	require.Equal(t, 20.0, p.Worth)
	require.True(t, p.Best)
	require.Equal(t, []Left{{"2F-5", "no crew has time left for it"}, {"3N-4", "nothing can be worked there in this window"}}, p.Left)

	short := night()
	for i := range short.Crews {
		short.Crews[i].Minutes -= 70
	}
	p, err = Propose(short)
	require.NoError(t, err)
	require.Empty(t, p.Places)
	require.Equal(t, "cast takes 230 minutes; the window leaves 170", p.Left[0].Reason)
}

func TestAPersonsChoiceIsKept(t *testing.T) {
	n := night()
	n.Courses[3].Pinned = "blast crew"
	n.Courses[1].Barred = "the strand of the net is still fixed to it"
	p, err := Propose(n)
	require.NoError(t, err)
	require.Contains(t, p.Places, Place{End: "2F-5", Crew: "blast crew", Steps: 1, To: 180, Pinned: true})
	require.Contains(t, p.Left, Left{"2F-1", "the strand of the net is still fixed to it"})
	require.Empty(t, p.Broken)

	n.Courses[0].Pinned = "blast crew"
	p, err = Propose(n)
	require.NoError(t, err)
	require.Equal(t, []Left{{"3N-1", "blast crew is not qualified for cast"}}, p.Broken)
	n.Courses[0].Pinned, n.Courses[0].PinnedSteps = "nobody", 1
	p, err = Propose(n)
	require.NoError(t, err)
	require.Equal(t, "there is no crew nobody in this window", p.Broken[0].Reason)
}

func TestANightWithoutSenseIsRefused(t *testing.T) {
	for name, n := range map[string]Night{
		"an end twice":  {Courses: []Course{{End: "a"}, {End: "a"}}},
		"a crew twice":  {Crews: []Crew{{Name: "a"}, {Name: "a"}}},
		"no minutes":    {Courses: []Course{{End: "a", Steps: []Step{{Name: "x"}}}}},
		"negative crew": {Crews: []Crew{{Name: "a", Minutes: -1}}},
	} {
		_, err := Propose(n)
		require.Error(t, err, name)
	}
}

func BenchmarkPropose(b *testing.B) {
	n := Night{Stock: map[string]int{"forms": 4}}
	for i := range 3 {
		n.Crews = append(n.Crews, Crew{Name: fmt.Sprint(i), Trades: []string{"blast", "weld", "cast"}[:i+1], Minutes: 240})
	}
	for i := range 24 {
		n.Courses = append(n.Courses, Course{End: fmt.Sprint(i), Steps: []Step{
			step("clean", 60+7*(i%9), float64(3+i%5), "blast"), step("weld", 70+5*(i%7), float64(2+i%4), "weld")}})
	}
	for b.Loop() {
		p, err := Propose(n)
		if err != nil {
			b.Fatal(err)
		}
		b.ReportMetric(float64(p.Nodes), "nodes")
		b.ReportMetric(100*p.Gap(), "%gap")
	}
}
