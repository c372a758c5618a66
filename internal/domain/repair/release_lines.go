package repair

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"time"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/quality"
	"endcast/internal/domain/sequence"
	"endcast/internal/domain/uhpc"
	"endcast/internal/domain/units"
)

// ReleaseLine is one line of the list before casting, with what the record says of it.
type ReleaseLine struct {
	Key, Title string
	Met        bool
	// Never: what only the record can mend. Steel, form and nonconformances are not
	// waived.
	Never  bool
	Text   string // what was found
	Lacks  string // what is missing, empty where it is met
	Person bool   // ticked by a person, whom Tick names once it is
	Tick   *StepTick
	Waiver *Waiver // that holds, nil for none
	Digest string  // of what the line rests on, its waiver included
}

// Settled reports whether a line no longer stands against the release.
func (l ReleaseLine) Settled() bool { return l.Met || l.Waiver != nil && !l.Never }

// Keys of the lines that come from the record.
const (
	LineSteps           = "steps"
	LineDesign          = "design"
	LineStuds           = "studs"
	LineTestStuds       = "test_studs"
	LineCleaning        = "cleaning"
	LineCores           = "cores"
	LineForm            = "form"
	LineBearing         = "bearing"
	LineMockup          = "mockup"
	LineWindow          = "window"
	LineQuantities      = "quantities"
	LineSpecimens       = "specimens"
	LineLimits          = "limits"
	LineNonconformances = "nonconformances"
)

// waivableLines are those that a person with authority may do without, for a reason.
var waivableLines = []string{LineTestStuds, LineCleaning, LineCores, LineBearing, LineMockup, LineWindow, LineQuantities, LineSpecimens}

// releaseLines is the whole list, in the order in which it is read on the platform.
func (r *Record) releaseLines(s *Scope, f *sequence.Facts, step *sequence.Step, w Wording) []ReleaseLine {
	lines := []ReleaseLine{
		r.lineSteps(s, f, step), r.lineDesign(f, w), r.lineStuds(f), r.lineTestStuds(w), r.lineCleaning(f, s), r.lineCores(), r.lineForm(w), r.lineBearing(),
		lineMockup(s, w), s.lineWindow(r.End.Access, w), r.lineQuantities(s, w), s.lineSpecimens(), lineLimits(s.Basis(), w), r.lineNonconformances(s, step),
	}
	for i := range lines {
		lines[i].Never = !slices.Contains(waivableLines, lines[i].Key) && lines[i].Key != LineLimits
	}
	if step != nil {
		for _, text := range PersonLines(*step) {
			l := ReleaseLine{Key: "tick: " + text, Title: text, Person: true, Tick: r.LineTick(step.ID, text), Lacks: "not ticked"}
			if l.Met = l.Tick != nil && l.Tick.Done; l.Met {
				l.Lacks = ""
			}
			l.Digest = digestOf(l.Met)
			lines = append(lines, l)
		}
		for i := range lines {
			if lines[i].Waiver = r.lineWaiver(*step, lines[i]); lines[i].Waiver != nil {
				lines[i].Digest = digestOf([]string{lines[i].Digest, lines[i].Waiver.ID})
			}
		}
	}
	return lines
}

// lineWaiver is the waiver of a line that holds: of the list itself, or of the
// condition of the step that asks for the same.
func (r *Record) lineWaiver(st sequence.Step, l ReleaseLine) *Waiver {
	for i := range r.Waivers {
		x := &r.Waivers[i]
		if x.StepID != st.ID || x.WithdrawnAt != nil {
			continue
		}
		switch sequence.Condition(x.Condition) {
		case sequence.CastingRelease:
			if x.Line == l.Key || l.Person && x.Line == l.Title {
				return x
			}
		case sequence.TickList:
			if l.Person && x.Line == l.Title {
				return x
			}
		case sequence.MockupAccepted:
			if l.Key == LineMockup {
				return x
			}
		}
	}
	return nil
}

func (r *Record) lineSteps(s *Scope, f *sequence.Facts, step *sequence.Step) ReleaseLine {
	l := ReleaseLine{Key: LineSteps, Title: "Steps and holds before this one"}
	if step == nil {
		l.Lacks = "the sequence has no hold at which a casting is released"
		return l
	}
	var done, holds, waits, ids []string
	for _, p := range sequence.Stand(s.Sequence(), *f) {
		if p.Step.ID == step.ID {
			break
		}
		switch p.State {
		case sequence.Done:
			done, ids = append(done, p.Step.Code), append(ids, p.Step.ID)
			if p.Released != nil {
				holds = append(holds, p.Step.Name+" by "+p.Released.Name)
			}
		case sequence.Open, sequence.Requested:
			waits = append(waits, p.Step.Name)
		}
	}
	l.Met, l.Text = len(waits) == 0, fmt.Sprintf("%d of %d done", len(done), len(done)+len(waits))
	if len(holds) > 0 {
		l.Text += "; holds released: " + strings.Join(holds, ", ")
	}
	if !l.Met {
		l.Lacks = "not done: " + strings.Join(waits, ", ")
	}
	l.Digest = digestOf([]any{ids, waits})
	return l
}

// lineDesign goes by the program's rules for what a movement under an approved design
// does: what is only to be noted shuts no release.
func (r *Record) lineDesign(f *sequence.Facts, w Wording) ReleaseLine {
	l := ReleaseLine{Key: LineDesign, Title: "Revision in force", Met: f.Design.State == sequence.Approved && !f.Design.OutOfDate && !f.Design.Stops}
	d := r.DesignInForce()
	if d == nil {
		l.Lacks, l.Digest = "no design is in force", digestOf("none")
		return l
	}
	inputs := r.approvedDigest(d)
	l.Text = fmt.Sprintf("revision %d", d.Revision)
	if was := r.lastApproval(d); was != nil {
		l.Text += ", approved by " + was.ReviewerName + ", " + w.When(was.At) + "; inputs " + inputs[:min(12, len(inputs))]
	}
	switch {
	case f.Design.OutOfDate || f.Design.Stops:
		l.Lacks = "out of date: " + f.Design.Why
	case !l.Met:
		l.Lacks = "revision " + f.Design.Revision + " is " + cmp.Or(string(f.Design.State), "not issued")
	case f.Design.Why != "":
		l.Text += "; moved since, to be noted: " + f.Design.Why
	}
	l.Digest = digestOf([]any{d.ID, string(f.Design.State), f.Design.Revision, inputs, f.Design.OutOfDate, f.Design.Stops})
	return l
}

func (r *Record) lineStuds(f *sequence.Facts) ReleaseLine {
	c := f.Studs
	l := ReleaseLine{Key: LineStuds, Title: "Studs", Met: c.Total > 0 && c.Accepted == c.Total && c.Rejected == 0 && c.Unaccounted == 0,
		Text: fmt.Sprintf("%d of %d accepted, %d rejected or open, %d not inspected", c.Accepted, c.Total, c.Rejected, c.Unaccounted)}
	switch {
	case c.Total == 0:
		l.Lacks = "no studs are designed"
	case !l.Met:
		l.Lacks = fmt.Sprintf("%d of %d without an accepted collar", c.Total-c.Accepted, c.Total)
	}
	var marks [][2]string
	if d := r.DesignInForce(); d != nil {
		latest := r.LatestCollars(d.ID)
		for _, st := range r.StudsOf(d.ID) {
			marks = append(marks, [2]string{st.Mark, latest[st.Mark].Outcome})
		}
	}
	slices.SortFunc(marks, func(a, b [2]string) int { return strings.Compare(a[0], b[0]) })
	l.Digest = digestOf(marks)
	return l
}

func (r *Record) lineTestStuds(w Wording) ReleaseLine {
	l := ReleaseLine{Key: LineTestStuds, Title: "Test studs of the shift", Met: r.TestStudsAccepted()}
	last := map[string]TestStud{}
	for _, x := range r.TestStuds {
		if was, ok := last[x.Welder]; !ok || later(x.CapturedAt, x.ArrivedAt, was.CapturedAt, was.ArrivedAt) {
			last[x.Welder] = x
		}
	}
	var texts []string
	var proof [][3]string
	for _, x := range last {
		texts = append(texts, fmt.Sprintf("%s, shift of %s: %d bent %g degrees, %s by %s, %s", x.Welder, x.ShiftOn, x.Tested, x.BendDeg, strings.ReplaceAll(x.Outcome, "_", " "), x.ByName, w.When(x.CapturedAt)))
		proof = append(proof, [3]string{x.Welder, x.ShiftOn, x.Outcome})
	}
	slices.Sort(texts)
	slices.SortFunc(proof, func(a, b [3]string) int { return strings.Compare(a[0], b[0]) })
	l.Text, l.Digest = strings.Join(texts, "; "), digestOf(proof)
	switch {
	case len(last) == 0:
		l.Lacks = "none on record"
	case !l.Met:
		l.Lacks = "the last of a welder is not accepted"
	}
	return l
}

func (r *Record) lineCleaning(f *sequence.Facts, s *Scope) ReleaseLine {
	a := r.CleaningAssessment(s)
	measured, ground := f.SurveyAfterCleaning, false
	if !measured {
		measured = r.measuredBeforeGrinding()
		ground = measured
	}
	l := ReleaseLine{Key: LineCleaning, Title: "Cleaning and the survey after it", Met: a.Acceptable && measured, Text: "grades as asked, measured again"}
	if ground {
		l.Text += "; stud positions ground bright again after that, for the welding"
	}
	var lacks []string
	if !a.Acceptable {
		lacks = append(lacks, a.Against...)
		if len(a.Against) == 0 {
			lacks = append(lacks, "cleaning is not on record")
		}
	}
	if !measured {
		lacks = append(lacks, "no survey after the latest cleaning")
	}
	if len(lacks) > 0 {
		l.Text, l.Lacks = "", strings.Join(lacks, "; ")
	}
	l.Digest = digestOf([]any{l.Met, a.Against})
	return l
}

// measuredBeforeGrinding reports whether all that was cleaned was measured after its
// first cleaning, and what was cleaned since is only the stud positions, again: they are
// made bright anew on the shift of welding, when nobody takes a survey (common practice,
// no source). The line says so, for the person who releases.
func (r *Record) measuredBeforeGrinding() bool {
	var measured time.Time
	for _, sv := range r.Surveys {
		if sv.Kind == "cleaned" && sv.CapturedAt.After(measured) {
			measured = sv.CapturedAt
		}
	}
	before := map[string]bool{}
	for _, c := range r.Cleanings {
		before[c.Zone] = before[c.Zone] || !c.EndedAt.After(measured)
	}
	return !measured.IsZero() && !slices.ContainsFunc(r.Cleanings, func(c Cleaning) bool {
		again := c.Zone == string(quality.StudPositions) && before[c.Zone]
		return c.Zone != string(quality.OutsidePanel) && c.EndedAt.After(measured) && !again
	})
}

func (r *Record) lineCores() ReleaseLine {
	l := ReleaseLine{Key: LineCores, Title: "Cores and ports through the deck open"}
	cores := r.LatestCores()
	open, accepted := 0, 0
	var cut, proof []string
	for _, x := range cores {
		if x.OpenClean {
			open++
		}
		if x.Outcome == CheckAccepted {
			accepted++
		}
		if x.BarCut {
			cut = append(cut, fmt.Sprintf("a bar cut at core %d, leave: %s", x.Number, x.Leave))
		}
		proof = append(proof, fmt.Sprint(x.Number, x.Outcome, x.OpenClean, x.BarCut))
	}
	l.Met = len(cores) > 0 && open == len(cores) && accepted == len(cores)
	switch {
	case len(cores) == 0:
		l.Lacks = "none on record"
	default:
		l.Text = fmt.Sprintf("%d of %d open and clean, %d accepted", open, len(cores), accepted)
		if len(cut) > 0 {
			l.Text += "; " + strings.Join(cut, "; ")
		}
		if !l.Met {
			l.Lacks = fmt.Sprintf("%d not open and clean, %d not accepted", len(cores)-open, len(cores)-accepted)
		}
	}
	l.Digest = digestOf(proof)
	return l
}

// faceWords are the faces of a form in words.
var faceWords = map[string]string{"L": "left face", "R": "right face", "B": "both faces"}

func (r *Record) lineForm(w Wording) ReleaseLine {
	l := ReleaseLine{Key: LineForm, Title: "Form tight and braced"}
	forms := r.LatestForms()
	var texts, lacks, proof []string
	for _, x := range forms {
		face := faceWords[x.Face]
		texts = append(texts, face+" "+strings.ReplaceAll(x.Outcome, "_", " ")+" by "+x.ByName+", "+w.When(x.CapturedAt))
		for _, c := range []struct {
			bad  bool
			what string
		}{{x.Outcome != CheckAccepted, "not accepted"}, {!x.Braced, "not braced for the full head"}, {!x.SealsTight, "seals not tight"}, {x.Leaked != nil && *x.Leaked, "leaked under the water test"},
			{!x.HolesClear, "feed and vents not clear"}} {
			if c.bad {
				lacks = append(lacks, face+" "+c.what)
			}
		}
		proof = append(proof, fmt.Sprint(x.Face, x.Outcome, x.Braced, x.SealsTight, x.Leaked != nil && *x.Leaked, x.HolesClear))
	}
	switch {
	case len(forms) == 0:
		lacks = append(lacks, "no check of the form is on record")
	case !r.FormAccepted() && len(lacks) == 0:
		lacks = append(lacks, "a face that the design casts against is not looked at")
	}
	l.Met, l.Text, l.Lacks, l.Digest = len(lacks) == 0, strings.Join(texts, "; "), strings.Join(lacks, "; "), digestOf(proof)
	return l
}

func (r *Record) lineBearing() ReleaseLine {
	l := ReleaseLine{Key: LineBearing, Title: "Bearing isolated"}
	forms := r.LatestForms()
	var proof []string
	l.Met = len(forms) > 0
	for _, x := range forms {
		proof = append(proof, fmt.Sprint(x.Face, x.BearingFree))
		l.Met = l.Met && x.BearingFree
	}
	switch {
	case l.Met:
		l.Text = "free to move, by the check of the form"
	case len(forms) == 0:
		l.Lacks = "no check of the form says so"
	default:
		l.Lacks = "the check of the form finds it not free"
	}
	l.Digest = digestOf(proof)
	return l
}

// lineMockup reads the acceptance as the program keeps it: what is recorded of a
// mock-up without a decision moves no release.
func lineMockup(s *Scope, w Wording) ReleaseLine {
	p := s.Program
	l := ReleaseLine{Key: LineMockup, Title: "Mock-up accepted", Met: p.MockupAcceptedAt != nil, Digest: digestOf([]any{p.MockupAcceptedAt, p.MockupAcceptedBy})}
	if l.Met {
		l.Text = "accepted by " + p.MockupAcceptedBy + ", " + w.When(*p.MockupAcceptedAt)
		if p.MockupNote != "" {
			l.Text += ": " + p.MockupNote
		}
	} else {
		_, l.Lacks = s.MockupStanding()
	}
	return l
}

// NextWindow is the window of a kind of access in which an end may be cast next: the
// first one granted after the last that was used. Nil where none is.
func (s *Scope) NextWindow(access string) *Window {
	fact := s.windowFact(access)
	if !fact.Granted || fact.Start.IsZero() {
		return nil
	}
	for i := range s.Windows {
		if x := &s.Windows[i]; x.Kind == access && x.StartsAt.Equal(fact.Start) && (x.State == WindowGranted || x.State == "shortened") {
			return x
		}
	}
	return nil
}

func (s *Scope) lineWindow(access string, w Wording) ReleaseLine {
	l := ReleaseLine{Key: LineWindow, Title: "Access window"}
	fact := s.windowFact(access)
	x := s.NextWindow(access)
	switch {
	case access == OpenAccess:
		l.Met, l.Text, l.Digest = true, "open access: none is needed", digestOf("open")
	case x != nil:
		l.Met, l.Text = true, strings.ReplaceAll(access, "_", " ")+", "+w.When(x.StartsAt)+" to "+w.When(x.EndsAt)+", "+x.State
		l.Digest = digestOf([]any{x.ID, x.StartsAt, x.EndsAt, x.State})
	case fact.Granted:
		l.Met, l.Text, l.Digest = true, "the program keeps no windows", digestOf("none kept")
	case fact.Lost:
		l.Lacks, l.Digest = "the last one was lost: "+fact.Why, digestOf("lost")
	default:
		l.Lacks, l.Digest = "none is granted", digestOf("none")
	}
	return l
}

// ReleaseAmounts is what a casting of this end alone takes, in the window that comes
// next.
func (r *Record) ReleaseAmounts(s *Scope) (uhpc.Amounts, *Window, error) {
	form, err := r.CastingForm(nil, s)
	if err != nil {
		return uhpc.Amounts{}, nil, err
	}
	plan, _ := s.SpecimensToMake()
	win := s.NextWindow(r.End.Access)
	var end time.Time
	if win != nil {
		end = win.EndsAt
	}
	a, _, err := WorkOut([]uhpc.Form{form}, plan, end, s.Basis())
	return a, win, err
}

// lineQuantities says how much is mixed and by when the last batch begins. What it
// rests on is the form and the mixer; how many batches the specimens add does not move
// a release.
func (r *Record) lineQuantities(s *Scope, w Wording) ReleaseLine {
	l := ReleaseLine{Key: LineQuantities, Title: "Quantities and batches"}
	a, win, err := r.ReleaseAmounts(s)
	if err != nil {
		l.Lacks, l.Digest = fault.Message(err), digestOf("unknown")
		return l
	}
	b := s.Basis()
	sys := w.System
	vol := func(v units.Volume) string { return units.Volumes.Format(float64(v), sys, -1) }
	l.Met = true
	l.Text = fmt.Sprintf("net %s, with tests and spare %s: %d batches of %d bags, %s each (mixer %s); %d bags on site", vol(a.Net), vol(a.Total), a.Batches, a.BagsPerBatch, vol(a.Batch),
		vol(units.Volume(b.Value(basis.MixerVolume))), a.BagsOnSite)
	if win != nil {
		l.Text += "; first batch by " + w.When(a.Times.First) + ", last batch begins by " + w.When(a.Times.LastBatch)
		if a.Times.First.Before(win.StartsAt) {
			l.Met, l.Lacks = false, "the casting does not fit into its window: the first batch would begin before it, "+w.When(a.Times.First)
		}
	}
	proof := []float64{float64(a.Net)}
	for _, k := range []basis.Key{basis.MixerVolume, basis.SpareVolume, basis.SpareBags, basis.BagMass, basis.BagYield, basis.Mixers} {
		proof = append(proof, b.Value(k))
	}
	l.Digest = digestOf(proof)
	return l
}

func (s *Scope) lineSpecimens() ReleaseLine {
	l := ReleaseLine{Key: LineSpecimens, Title: "Specimens planned"}
	plan, source := s.SpecimensToMake()
	var parts []string
	for _, x := range plan {
		kind := string(x.Kind)
		if info, ok := x.Kind.Info(); ok {
			kind = info.Name
		}
		per := "of the last batch"
		if x.PerBatch {
			per = "of every batch"
		}
		parts = append(parts, fmt.Sprintf("%s, %s cured, at %s: %d %s", kind, x.Cure, uhpc.AgeText(24*x.NominalDays), x.Count, per))
	}
	l.Met, l.Text, l.Digest = len(plan) > 0, strings.Join(parts, "; "), digestOf("plan")
	switch {
	case !l.Met:
		l.Lacks = "the plan in force asks for none"
	case source == "":
		l.Text += ". The default plan, not from the contract"
	}
	return l
}

// limitKeys are the limits of mixing and placing that the list repeats.
var limitKeys = []basis.Key{basis.FlowMin, basis.FlowMax, basis.MixWarm, basis.MixHot, basis.AmbientMin, basis.AmbientMax, basis.PlaceSlow, basis.PlaceStop, basis.BatchInterval}

func lineLimits(b basis.Basis, w Wording) ReleaseLine {
	l := ReleaseLine{Key: LineLimits, Title: "Limits of weather, mix and time", Met: true}
	var parts []string
	var proof []float64
	for _, k := range limitKeys {
		d, _ := basis.Lookup(k)
		kind, _ := units.KindNamed(string(d.Unit))
		parts = append(parts, d.Name+" "+kind.Format(b.Value(k), w.System, -1))
		proof = append(proof, b.Value(k))
	}
	l.Text, l.Digest = strings.Join(parts, "; "), digestOf(proof)
	return l
}

func (r *Record) lineNonconformances(s *Scope, step *sequence.Step) ReleaseLine {
	l := ReleaseLine{Key: LineNonconformances, Title: "Nonconformances"}
	stopped := map[string]bool{}
	if step != nil {
		stopped[step.ID] = true
	}
	for _, st := range s.Sequence() {
		if slices.ContainsFunc(st.Requires, func(q sequence.Requirement) bool { return q.Condition == sequence.PourRecorded }) {
			stopped[st.ID] = true
		}
	}
	var against, others []string
	for _, n := range r.openOf(s) {
		if len(n.Stops) == 0 || slices.ContainsFunc(n.Stops, func(id string) bool { return stopped[id] }) {
			against = append(against, n.Number)
		} else {
			others = append(others, n.Number)
		}
	}
	for _, n := range r.Nonconformances {
		if number := numberText(n.Number); n.Critical && n.ClosedAt == nil && !slices.Contains(against, number) {
			against = append(against, number)
		}
	}
	l.Met = len(against) == 0
	if l.Met {
		l.Text = "none open that stops a casting"
	} else {
		l.Lacks = "open: " + strings.Join(against, ", ")
	}
	if len(others) > 0 {
		l.Text = strings.TrimPrefix(l.Text+"; open, stopping other steps: "+strings.Join(others, ", "), "; ")
	}
	l.Digest = digestOf(against)
	return l
}
