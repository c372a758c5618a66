package repair

import (
	"cmp"
	"fmt"
	"maps"
	"math"
	"slices"
	"strconv"
	"time"

	"endcast/internal/domain/assign"
	"endcast/internal/domain/basis"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/sequence"
	"endcast/internal/domain/uhpc"
	"endcast/internal/domain/units"
)

// Night is what can be worked in one window, and a proposal of who works where.
type Night struct {
	Window                Window
	SetupMin, HandbackMin int
	CutMin                int // what the window was cut by, for a proposal anew
	NetMin                int // left to every crew
	Unconfirmed           []string
	Lines                 []NightLine // those that go first, by crew and time; the others by name
	Need                  map[string]int
	Worth, Bound, Gap     float64 // Gap: share by which a better plan could exceed this one
	Best                  bool    // proved: no plan is worth more
}

// NightLine is one open end in a window: it goes, or the one reason it does not.
type NightLine struct {
	EndID, Name string
	Step        string // the next step of the end, "" where none is left
	StepID      string
	Go          bool
	Reason      string          // why it does not go
	Block       *sequence.Block // where the record stops it
	Steps       []NightStep     // those proposed; of an end that could go, those on offer
	Crew        string
	From, To    time.Time
	Choice      *WindowChoice // of a person, kept
	Broken      string        // why the person's choice no longer fits
	Shortfall   float64       // 1 - capacity/demand, 0 where the end carries its demand
	Casting     *time.Time    // when the casting begins
	Breaks      []NightBreak
}

// NightStep is one step in a window.
type NightStep struct {
	ID, Name string
	Minutes  int
	Assumed  bool // nobody entered its minutes: the time of the design basis
	Uses     map[string]int
	casts    bool
}

// NightBreak is when specimens of a casting reach a nominal age.
type NightBreak struct {
	Days float64
	At   time.Time // in the zone of the program
	Shut bool      // the laboratory does not work on that day
}

// Minutes is what the steps of a line take together.
func (l NightLine) Minutes() int {
	n := 0
	for _, st := range l.Steps {
		n += st.Minutes
	}
	return n
}

// NetMinutes is what a window leaves to a crew: its length less set-up and hand-back of its kind, never more than what
// was said to be fit for work, less what it was cut by. It is counted from instants, so that a night on which the clock
// is moved has its true length.
func (s Shifts) NetMinutes(w Window, cut int) int {
	k := s.kind(w.Kind)
	net := int(math.Floor(w.EndsAt.Sub(w.StartsAt).Minutes())) - k.SetupMin - k.HandbackMin
	return max(0, min(net, int(math.Floor(w.ProductiveH*60+1e-6)))-cut)
}

func (s Shifts) kind(name string) WindowKind {
	for _, k := range s.Kinds {
		if k.Name == name {
			return k
		}
	}
	return WindowKind{Name: name}
}

// ClockMoved is by how much the clock is put forward (+1 h) or back (-1 h) within a window, zero on other nights.
func (w Window) ClockMoved(zone *time.Location) time.Duration {
	_, a := w.StartsAt.In(zone).Zone()
	_, b := w.EndsAt.In(zone).Zone()
	return time.Duration(b-a) * time.Second
}

// PlanNight says for every open end of the scope whether it can be worked in window w, and proposes who works where. A
// window that is only planned is planned in as if it were granted. What people chose is kept; a choice that no longer
// fits is said and its end given to nobody else. cut is in minutes, 0 for the whole window.
//
// Each step is worth 1 plus the weight of the basis times the shortfall of the end's capacity (common practice, no
// source: the weakest ends first).
func PlanNight(s *Scope, w Window, cut int, zone *time.Location) (Night, error) {
	if cut < 0 || float64(cut) > w.EndsAt.Sub(w.StartsAt).Minutes() {
		var bad fault.Invalid
		bad.Add("cut", strconv.Itoa(cut), "must be from 0 to the %.0f minutes of the window", w.EndsAt.Sub(w.StartsAt).Minutes())
		return Night{}, bad.Err()
	}
	k := s.Shifts.kind(w.Kind)
	n := Night{Window: w, SetupMin: k.SetupMin, HandbackMin: k.HandbackMin, CutMin: cut, NetMin: s.Shifts.NetMinutes(w, cut), Unconfirmed: s.Shifts.Unconfirmed(w), Need: map[string]int{}}
	job := assign.Night{Stock: map[string]int{}}
	names := map[string]string{} // of crews, by id
	for _, c := range s.Shifts.Crews {
		names[c.ID] = c.Name
		if !c.Retired && (len(c.Kinds) == 0 || slices.Contains(c.Kinds, w.Kind)) {
			job.Crews = append(job.Crews, assign.Crew{Name: c.Name, Trades: c.Trades, Minutes: n.NetMin})
		}
	}
	for _, x := range s.Shifts.Stock {
		job.Stock[x.Name] = x.OnHand
	}
	at := map[string]int{} // line of a course
	for _, r := range s.Ends {
		line, open, err := r.nightLine(s, w)
		if err != nil {
			return Night{}, err
		}
		if !open {
			continue
		}
		for i := range s.Shifts.Choices {
			if x := s.Shifts.Choices[i]; x.WindowID == w.ID && x.EndID == r.End.ID && x.WithdrawnAt == nil {
				line.Choice = &x
			}
		}
		if line.Reason != "" {
			if line.Choice != nil && line.Choice.CrewID != nil {
				line.Broken = line.Reason
			}
			n.Lines = append(n.Lines, line)
			continue
		}
		c := assign.Course{End: r.End.ID}
		for _, st := range line.Steps {
			e := s.Shifts.effort(st.ID)
			c.Steps = append(c.Steps, assign.Step{ID: st.ID, Name: st.Name, Minutes: st.Minutes, Trades: e.Trades, Uses: st.Uses,
				Worth: 1 + s.Basis().Value(basis.ShiftShortfall)*line.Shortfall})
		}
		if x := line.Choice; x != nil {
			if x.CrewID == nil {
				c.Barred = "left out by " + x.ByName + ": " + x.Reason
			} else {
				c.Pinned, c.PinnedSteps = cmp.Or(names[*x.CrewID], *x.CrewID), max(1, x.Steps)
			}
		}
		at[c.End] = len(n.Lines)
		n.Lines, job.Courses = append(n.Lines, line), append(job.Courses, c)
	}
	plan, err := assign.Propose(job)
	if err == nil && len(plan.Broken) > 0 {
		for _, b := range plan.Broken {
			i := slices.IndexFunc(job.Courses, func(c assign.Course) bool { return c.End == b.End })
			n.Lines[at[b.End]].Broken = b.Reason
			job.Courses[i].Barred = "chosen for " + job.Courses[i].Pinned + ", which no longer fits: " + b.Reason
		}
		plan, err = assign.Propose(job)
	}
	if err != nil {
		return Night{}, err
	}
	n.fill(s, plan, at, zone)
	return n, nil
}

// fill puts the proposal into the lines.
func (n *Night) fill(s *Scope, plan assign.Plan, at map[string]int, zone *time.Location) {
	n.Worth, n.Bound, n.Gap, n.Best = plan.Worth, plan.Bound, plan.Gap(), plan.Best
	start := n.Window.StartsAt.Add(time.Duration(n.SetupMin) * time.Minute)
	for _, p := range plan.Places {
		l := &n.Lines[at[p.End]]
		l.Go, l.Crew, l.Steps = true, p.Crew, l.Steps[:p.Steps]
		l.From, l.To = start.Add(time.Duration(p.From)*time.Minute), start.Add(time.Duration(p.To)*time.Minute)
		t := l.From
		for _, st := range l.Steps {
			for what, k := range st.Uses {
				n.Need[what] += k
			}
			if st.casts && l.Casting == nil {
				cast := t
				l.Casting = &cast
				l.Breaks = BreaksOf(s, cast, zone)
			}
			t = t.Add(time.Duration(st.Minutes) * time.Minute)
		}
	}
	for _, x := range plan.Left {
		n.Lines[at[x.End]].Reason = x.Reason
	}
	slices.SortStableFunc(n.Lines, func(a, b NightLine) int {
		if a.Go != b.Go {
			if a.Go {
				return -1
			}
			return 1
		}
		if a.Go {
			return cmp.Or(cmp.Compare(a.Crew, b.Crew), a.From.Compare(b.From))
		}
		return 0
	})
}

// BreaksOf are the nominal ages of the specimens in the plan, counted in hours from the casting.
func BreaksOf(s *Scope, cast time.Time, zone *time.Location) []NightBreak {
	lab := uhpc.HoursOf(zone, nil, s.Basis())
	days := map[float64]bool{}
	plan, _ := s.SpecimensToMake()
	for _, x := range plan {
		if x.NominalDays > 0 {
			days[x.NominalDays] = true
		}
	}
	var out []NightBreak
	for _, d := range slices.Sorted(maps.Keys(days)) {
		at := cast.Add(time.Duration(d * 24 * float64(time.Hour))).In(zone)
		out = append(out, NightBreak{Days: d, At: at, Shut: !lab.WorksOn(at)})
	}
	return out
}

func (s Shifts) effort(step string) StepEffort {
	for _, e := range s.Efforts {
		if e.StepID == step {
			return e
		}
	}
	return StepEffort{}
}

// nightLine is what the record says of one end in window w, before anybody is sent there; false for a closed end. The
// one reason is the first of: the window is over, the end is not worked in it, what blocks its step.
func (r *Record) nightLine(s *Scope, w Window) (NightLine, bool, error) {
	l := NightLine{EndID: r.End.ID, Name: r.End.Name}
	if len(r.State) > 0 && r.State[0].Reserve > 0 {
		l.Shortfall = max(0, 1-r.State[0].Reserve)
	}
	f, err := r.Facts(s)
	if err != nil {
		return l, false, err
	}
	// Whether the window is granted is said once for all ends.
	f.Windows = maps.Clone(f.Windows)
	if f.Windows == nil {
		f.Windows = map[string]sequence.Window{}
	}
	f.Windows[w.Kind] = sequence.Window{Granted: true, Start: w.StartsAt}
	if r.End.Access == w.Kind {
		f.Window = f.Windows[w.Kind]
	}
	st := sequence.Evaluate(s.Sequence(), f)
	if st.Closed || st.Current == nil {
		return l, false, nil
	}
	l.Step, l.StepID = st.Current.Name, st.Current.ID
	in := func(step sequence.Step) string {
		if step.Window == sequence.OwnWindow {
			return r.End.Access
		}
		return step.Window
	}
	switch kind := in(*st.Current); {
	case w.State == WindowLost:
		l.Reason = "the window was lost: " + w.Reason
	case w.State == WindowUsed:
		l.Reason = "the window is over"
	case kind != "" && kind != OpenAccess && kind != w.Kind:
		l.Reason = l.Step + " is worked in a window of " + kind
	case len(st.Blocks) > 0:
		b := st.Blocks[0]
		l.Block, l.Reason = &b, b.String()
	case kind == "" || kind == OpenAccess:
		l.Reason = l.Step + " needs no window: it can be done at any time"
	}
	if l.Reason != "" {
		return l, true, nil
	}
	l.Steps = r.course(s, st, f, func(step sequence.Step) bool { return in(step) == w.Kind })
	return l, true, nil
}

// course is the current step with those that may follow it in the same window: until one that is worked elsewhere, that
// is a hold, or that something stops which the steps before it do not bring.
func (r *Record) course(s *Scope, st sequence.Status, f sequence.Facts, here func(sequence.Step) bool) []NightStep {
	out := []NightStep{r.nightStep(s, *st.Current)}
	brings := map[sequence.Reason]bool{sequence.StepBefore: true}
	for _, b := range st.ToDo {
		brings[b.Reason] = true
	}
	last, on := *st.Current, false
	for _, x := range st.All {
		if x.Step.ID == st.Current.ID {
			on = true
			continue
		}
		if !on || !x.Waits() {
			continue
		}
		blocked := slices.ContainsFunc(sequence.Blocking(s.Sequence(), f, x.Step.ID), func(b sequence.Block) bool { return !brings[b.Reason] })
		if last.Hold || !here(x.Step) || blocked {
			break
		}
		out, last = append(out, r.nightStep(s, x.Step)), x.Step
	}
	return out
}

// StudStock is the name by which studs of one size are counted in the units of a program: "studs 3/4 x 4 in",
// "studs 19 x 102 mm".
func StudStock(diameter, height units.Length, sys units.System) string {
	if sys == units.SI {
		return fmt.Sprintf("studs %.0f x %.0f mm", float64(diameter), float64(height))
	}
	return fmt.Sprintf("studs %s x %s in", units.Inches(diameter), units.Inches(height))
}

// Materials is what the step of a code takes at this end, by the names of the stock.
func (r *Record) Materials(s *Scope, code string) map[string]int {
	for _, st := range s.Sequence() {
		if st.Code == code && !st.Retired {
			return r.nightStep(s, st).Uses
		}
	}
	return nil
}

// nightStep is what one step takes at this end. Studs, ferrules and batches are counted from the design in force; forms,
// cores and the rest as the step's effort says.
func (r *Record) nightStep(s *Scope, step sequence.Step) NightStep {
	e := s.Shifts.effort(step.ID)
	n := NightStep{ID: step.ID, Name: step.Name, Minutes: e.Minutes, Uses: maps.Clone(e.Uses)}
	if n.Minutes <= 0 {
		n.Minutes, n.Assumed = int(math.Ceil(s.Basis().Value(basis.ShiftMinutes)*60)), true
	}
	if n.Uses == nil {
		n.Uses = map[string]int{}
	}
	asks := func(c sequence.Condition) bool {
		return slices.ContainsFunc(step.Requires, func(x sequence.Requirement) bool { return x.Condition == c })
	}
	d := r.DesignInForce()
	if d != nil && (step.Code == "WLD" || asks(sequence.TestStudsAccepted)) {
		if k := len(r.StudsOf(d.ID)); k > 0 {
			n.Uses[StudStock(d.StudDiameter, d.StudHeight, units.System(s.Program.Units))], n.Uses["ferrules"] = k, k
		}
	}
	if asks(sequence.PourRecorded) {
		n.casts = true
		if form, err := r.CastingForm(nil, s); err == nil {
			plan, _ := s.SpecimensToMake()
			if a, _, err := WorkOut([]uhpc.Form{form}, plan, time.Time{}, s.Basis()); err == nil {
				n.Uses["batches"] = a.Batches
			}
		}
	}
	return n
}
