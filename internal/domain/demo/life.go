package demo

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/sequence"
	"endcast/internal/domain/units"
)

const minute, hour = time.Minute, time.Hour

// life tells what was done at one end, step by step.
func (t *teller) life(p plan) {
	name := p.String()
	e := end{t, p, name, []string{name}}
	e.asFound()
	e.firstDesign()
	if p.reaches("ACC") {
		e.complete("ACC", authz.Contractor, p.clean.Add(20*minute))
	}
	if lineOf(e.Name).access == navigation {
		t.late = 5 * hour // no signal on the work boat
	}
	if p.reaches("CLN") {
		e.cleaned()
	}
	if p.reaches("MSR") {
		e.measured()
	}
	t.late = 0
	if p.reaches("MSR") {
		e.design()
	}
	if p.reaches("WLD") {
		e.groundAgain()
		e.testStuds()
		e.complete("WLD", authz.Contractor, p.weld.Add(4*hour))
		e.collars()
	}
	if p.reaches("COL") {
		e.photos("COL", 1, authz.Inspector, p.weld.Add(5*hour))
		e.complete("COL", authz.Inspector, p.colDone())
		e.release("COL", authz.Engineer, office(p.colDone(), 1, 10))
	}
	if gauged[name] && p.reaches("GAU") {
		at := e.gaugedAt().Add(25 * minute)
		e.gauges()
		e.inspect("gauges", "accepted", at, "Both faces of the web at the foot of the panel, one in the panel, one on a stud, the slip, a control on the bottom flange and the air: all read, zero with no traffic on the span.")
		e.complete("GAU", authz.Inspector, at.Add(20*minute))
		e.recorded()
	}
	if p.reaches("COR") {
		e.cores()
		e.complete("COR", authz.Contractor, p.form.Add(90*minute))
	}
	if p.reaches("FRM") {
		e.formChecked()
		e.photos("FRM", 2, authz.Contractor, p.form.Add(3*hour))
		e.complete("FRM", authz.Contractor, p.form.Add(200*minute))
	}
	if p.reaches("REL") || name == waitingForRelease {
		e.complete("REL", authz.Contractor, p.asked())
	}
	e.beforeCasting()
	if p.reaches("CST") {
		e.photos("CST", 1, authz.Inspector, p.cast.Add(3*hour))
		e.complete("CST", authz.Inspector, p.cast.Add(250*minute))
	}
	e.after()
}

// end tells what happens at one end.
type end struct {
	*teller
	plan
	name string
	ref  []string
}

// colDone is when the collars were complete: at once, or after their repair.
func (p plan) colDone() time.Time {
	if _, ok := rejected[p.String()]; ok {
		return p.mended().Add(hour)
	}
	return p.weld.Add(5*hour + 10*minute)
}

// office is a moment in office hours, some days after.
func office(after time.Time, days int, h float64) time.Time {
	d := after.AddDate(0, 0, days)
	for d.Weekday() == time.Saturday || d.Weekday() == time.Sunday {
		d = d.AddDate(0, 0, 1)
	}
	return time.Date(d.Year(), d.Month(), d.Day(), 0, 0, 0, 0, zone).Add(time.Duration(h * float64(hour)))
}

// mended is when rejected collars were dealt with: on the first shift four days on.
func (p plan) mended() time.Time {
	return shiftAfter(lineOf(p.Name).access, p.weld.AddDate(0, 0, 4)).Add(hour)
}

func (e end) key(parts ...string) string { return e.name + " " + strings.Join(parts, " ") }

// act adds an act on a step, with every line of its tick list that is not waived.
func (e end) act(code, act string, by authz.Role, at time.Time, note string) {
	e.tell(e.key(code, act, at.Format(time.RFC3339)), by, at, e.ref, false, func(s *repair.Scope) (repair.Change, error) {
		for _, st := range s.Sequence() {
			if st.Code != code || st.Retired {
				continue
			}
			ch := repair.StepAct{StepID: st.ID, Act: act, Note: note}
			for _, r := range st.Requires {
				if act == "completed" && r.Condition == sequence.TickList {
					ch.Ticks = append(ch.Ticks, slices.DeleteFunc(r.Items(), func(line string) bool { return waivedLines[e.name] == line })...)
				}
			}
			return ch, nil
		}
		return nil, fault.New(fault.NotFound, "the sequence has no step %s", code)
	})
}

func (e end) complete(code string, by authz.Role, at time.Time) { e.act(code, "completed", by, at, "") }
func (e end) release(code string, by authz.Role, at time.Time)  { e.act(code, "released", by, at, "") }

// gate passes a gate on the breaks of its hour.
func (e end) gate(key string, by authz.Role, at time.Time) {
	e.say(e.key("gate", key), by, at, e.ref, repair.DecideGate{Gate: key, Decision: repair.GatePassed})
}

func (e end) inspect(subject, outcome string, at time.Time, note string) {
	by := authz.Inspector
	if subject == "load_path" {
		by = authz.Engineer
	}
	e.say(e.key(subject, outcome, at.Format(time.RFC3339)), by, at, e.ref, repair.RecordInspection{Subject: subject, Outcome: outcome, Note: note})
}

// photos adds pictures to a step.
func (e end) photos(code string, n int, by authz.Role, at time.Time) {
	for i := range n {
		e.photo(code, i, by, at.Add(time.Duration(i)*minute))
	}
}

func (e end) photo(code string, i int, by authz.Role, at time.Time) {
	caption := fmt.Sprintf("%s: %s (drawn for the demonstration)", e.name, captions[code][i%len(captions[code])])
	e.tell(e.key("photo", code, strconv.Itoa(i)), by, at, e.ref, true, func(*repair.Scope) (repair.Change, error) {
		b := picture(e.Name, code, i)
		ch := repair.AddPhoto{Bytes: b, SHA256: sum(b), Caption: caption, Subject: code}
		if code == "CLN" || code == "MSR" || code == "HRD" {
			// Pinned to where it was taken; of the others the caption says enough.
			x, z := in(round(center+between(-3, 7, e.name, code, strconv.Itoa(i), "x"), 0.5)), in(round(between(1.5, 12, e.name, code, strconv.Itoa(i), "z"), 0.5))
			ch.Face, ch.X, ch.Z = []string{"L", "R"}[i%2], &x, &z
		}
		return ch, nil
	})
}

var captions = map[string][]string{
	"CLN": {"left face after cleaning", "right face after cleaning"},
	"MSR": {"reading grid chalked on the web", "gauge on the thinnest place"},
	"COL": {"collars of the first row"},
	"FRM": {"form seen from the left", "foot of the form and its seal"},
	"CST": {"mix at the far vent"},
	"HRD": {"stripped panel, left", "stripped panel, right"},
}

// asFound is the survey that the contract was drawn up with.
func (e end) asFound() {
	n := float64(len(e.name)) + 7*uniform(e.name, "survey day")
	at := office(day(1, 18).AddDate(0, 0, e.Span*4+int(n)-6), 0, between(9, 15, e.name, "survey hour"))
	ch := steelOf(e.Name, false).survey(false)
	ch.Facts.TakenBy = pick([]string{"I. Fenwick-Low", "T. Garrow", "P. Umber"}, e.name, "surveyor")
	e.say(e.key("survey as found"), authz.Inspector, at, e.ref, ch)
}

func (e end) cleaned() {
	p := e.plan
	at := p.clean.Add(40 * minute)
	zones := []struct{ zone, grade, method string }{{"stud_positions", "SP11", "power_tool"}, {"encased_area", "SP3", "power_tool"}, {"outside_panel", "SP2", "hand_tool"}}
	month := float64(p.clean.Month()) + float64(p.clean.Day())/30
	for i, z := range zones {
		from, to := at.Add(time.Duration(i*35)*minute), at.Add(time.Duration(i*35+30)*minute)
		steel, air := e.weather(month, p.clean, z.zone)
		profile := units.Length(0)
		if z.grade == "SP11" {
			profile = in(round(between(0.0014, 0.0026, e.name, "profile"), 0.0001))
		}
		dew := air - units.Temperature(round(between(5, 12, p.clean.Format(time.DateOnly), "dew"), 0.5))
		humid := round(between(48, 78, e.name, z.zone, "humidity"), 1)
		e.say(e.key("clean", z.zone), authz.Inspector, to, e.ref, repair.RecordCleaning{Zone: z.zone, Grade: z.grade, Method: z.method, StartedAt: from, EndedAt: to,
			SolventFirst: true, Rust: "none", Profile: profile, SteelTemp: &steel, AirTemp: &air, DewPoint: &dew, Humidity: &humid})
	}
	e.photos("CLN", 2, authz.Inspector, at.Add(110*minute))
	e.complete("CLN", authz.Inspector, at.Add(115*minute))
}

// groundAgain is the second cleaning of the stud positions, on the shift in which
// they are welded.
func (e end) groundAgain() {
	at := e.weld.Add(40 * minute)
	steel, air := e.weather(float64(e.weld.Month())+float64(e.weld.Day())/30, e.weld, "ground")
	e.say(e.key("clean again"), authz.Inspector, at, e.ref, repair.RecordCleaning{Zone: "stud_positions", Grade: "SP11", Method: "grinder", StartedAt: at.Add(-25 * minute),
		EndedAt: at, SolventFirst: true, Rust: "none", Profile: in(0.002), SteelTemp: &steel, AirTemp: &air, Note: "ground bright on the shift of welding"})
}

// weather draws the temperatures of steel and air on a day.
func (e end) weather(month float64, at time.Time, what string) (steel, air units.Temperature) {
	f := 40 + 9*(month-3) + between(-4, 4, at.Format(time.DateOnly), "air")
	if at.Hour() >= 20 {
		f -= 6
	}
	celsius := func(f float64) units.Temperature { return units.Temperature((round(f, 1) - 32) / 1.8) }
	return celsius(f + between(-2, 1, e.name, what, "steel")), celsius(f)
}

func (e end) measured() {
	at := e.plan.clean.Add(3 * hour)
	ch := steelOf(e.Name, true).survey(true)
	ch.Facts.TakenBy = "I. Fenwick-Low"
	if e.name == criticalEnd {
		ch.Facts.Note = "0.03 in of web left over the bearing on a length of a hand. Span above kept clear; engineer called at once."
	}
	e.say(e.key("survey cleaned"), authz.Inspector, at, e.ref, ch)
	e.photos("MSR", 2, authz.Inspector, at.Add(5*minute))
	e.complete("MSR", authz.Inspector, at.Add(10*minute))
}

// rejected are the collars that were rejected at an end, by their place in the
// list of studs.
var rejected = map[string][]int{"2N-4": {2, 5, 8, 11}, "2N-5": {6}, "1N-1": {4}, "1N-3": {7}, "4F-1": {2, 5}}

// collars tells what was found at every stud.
func (e end) collars() {
	at := e.weld.Add(4*hour + 30*minute)
	week := e.weld.Month() == time.May && e.weld.Day() == 13 // the week of damp ferrules
	lot := "F-" + e.weld.Format("0102")
	note := ""
	if week {
		note = "ferrules from an opened carton that stood in the rain"
	}
	e.tell(e.key("collars"), authz.Inspector, at, e.ref, false, func(s *repair.Scope) (repair.Change, error) {
		r, d, err := inForce(s)
		if err != nil {
			return nil, err
		}
		ch := repair.RecordCollars{DesignID: d.ID}
		studs := r.StudsOf(d.ID)
		for i, st := range studs {
			if e.name == "4F-1" && i >= len(studs)-6 {
				break // the shift ended
			}
			h := in(round(float64(d.StudHeight/units.Inch)+between(-0.04, 0.05, e.name, st.Mark, "height"), 0.01))
			c := repair.CollarIn{Mark: st.Mark, Outcome: "full", Height: &h, Welder: pick([]string{"W-3", "W-8"}, e.name, "welder"), FerruleLot: lot, Note: note}
			draw := uniform(e.name, st.Mark, "collar")
			bad := false
			for _, k := range rejected[e.name] {
				bad = bad || k == i
			}
			clock, size := 1+int(12*uniform(e.name, st.Mark, "clock")), in(round(between(0.15, 0.6, e.name, st.Mark, "gap"), 0.05))
			switch {
			case e.name == "4F-1" && i == 7:
				c.Outcome, c.GapClock, c.GapLength = "gap", &clock, &size
			case e.name == "4F-1" && i == 8:
				bend := 15.0
				c.Outcome, c.GapClock, c.GapLength, c.BendDeg, c.Fissure = "bent_fail", &clock, &size, &bend, true
			case e.name == "4F-1" && i == 9:
				c.Outcome, c.Note = "removed", "ground off after a fissure; to be welded again"
			case bad:
				c.Outcome, c.GapClock, c.GapLength, c.Fissure = "rejected", &clock, &size, uniform(e.name, st.Mark, "fissure") < 0.5
			case draw < 0.02:
				bend := 15.0
				c.Outcome, c.GapClock, c.GapLength, c.BendDeg = "bent_pass", &clock, &size, &bend
			case draw < 0.05:
				c.Outcome, c.GapClock, c.GapLength, c.Repair = "repaired_fillet", &clock, &size, "fillet 5/16 in, 3/8 in past each end of the gap"
			}
			ch.Collars = append(ch.Collars, c)
		}
		return ch, nil
	})
	if len(rejected[e.name]) == 0 || e.name == "4F-1" {
		return
	}
	e.tell(e.key("collars mended"), authz.Inspector, e.mended(), e.ref, false, func(s *repair.Scope) (repair.Change, error) {
		r, d, err := inForce(s)
		if err != nil {
			return nil, err
		}
		ch := repair.RecordCollars{DesignID: d.ID}
		for _, st := range r.StudsOf(d.ID) {
			if c, ok := r.LatestCollars(d.ID)[st.Mark]; ok && !repair.CollarCounts(c.Outcome) {
				h := d.StudHeight
				ch.Collars = append(ch.Collars, repair.CollarIn{Mark: st.Mark, Outcome: "replaced", Height: &h, Welder: "W-3", FerruleLot: lot + " dried",
					Repair: "cut off, ground flush, rewelded with ferrules from the oven"})
			}
		}
		return ch, nil
	})
}

// inForce is the one end of a scope with its design in force.
func inForce(s *repair.Scope) (*repair.Record, *repair.Design, error) {
	r, err := s.One()
	if err != nil {
		return nil, nil, err
	}
	d := r.DesignInForce()
	if d == nil {
		return nil, nil, fault.New(fault.NotFound, "%s has no design", r.End.Name)
	}
	return r, d, nil
}

// after tells what follows the casting.
func (e end) after() {
	p := e.plan
	if p.cast.IsZero() {
		return
	}
	four := p.cast.AddDate(0, 0, 4).Add(100 * minute)
	strip := shiftAfter(lineOf(e.Name).access, four.Add(5*hour))
	if low4[p.pour] {
		strip = shiftAfter(lineOf(e.Name).access, p.cast.AddDate(0, 0, 7).Add(10*hour))
	}
	if p.reaches("CUR") {
		at := p.cast.AddDate(0, 0, 4).Add(4 * hour)
		e.inspect("curing", "accepted", at, p.curingSeen())
		e.complete("CUR", authz.Contractor, at.Add(20*minute))
	}
	if p.reaches("STR") {
		e.gate("strip", authz.Inspector, strip.Add(10*minute))
		e.complete("STR", authz.Contractor, strip.Add(30*minute))
		e.release("STR", authz.Inspector, strip.Add(50*minute))
	}
	hard := strip.Add(2 * hour)
	if hardFinding[e.name] {
		hard = hard.AddDate(0, 0, 5)
	}
	if p.reaches("HRD") {
		e.inspect("hardened", "accepted", hard, "Sounded on a 6 in grid, both faces; no hollow sound; no crack wider than 0.004 in.")
		e.photos("HRD", 2, authz.Inspector, hard.Add(5*minute))
		e.complete("HRD", authz.Inspector, hard.Add(20*minute))
	}
	if p.reaches("TRF") {
		e.gate("traffic", authz.Engineer, hard.Add(35*minute))
		e.complete("TRF", authz.Contractor, hard.Add(40*minute))
		e.release("TRF", authz.Engineer, hard.Add(50*minute))
	}
	if e.name == "5N-1" {
		e.inspect("hardened", "not_accepted", day(7, 6).Add(23*hour+20*minute), "Hollow sound along the top fillet of the left face, 9 in long; probed to 1-1/4 in.")
	}
	if e.name == "1N-2" {
		e.proven("after", day(6, 11).Add(13*hour), "For the same truck the web strains as it did before the panel, and neither panel nor stud feel it. To be opened at the foot and looked at.")
	}
	if e.name == "5N-2" {
		e.proven("after", day(7, 13).Add(14*hour), "Panel and stud feel each truck, but without the control gauge nobody can say that the trucks were alike. To be repeated with a new control.")
	}
	if e.name == "2N-4" {
		e.complete("CLS", authz.Inspector, day(7, 9).Add(10*hour))
		e.act("CLS", "returned", authz.Engineer, day(7, 12).Add(11*hour), "The record of the core patch names no material: add it.")
		e.complete("CLS", authz.Inspector, day(7, 14).Add(9*hour))
	}
	if line, ok := waivedLines[e.name]; ok {
		e.waive("CLS", sequence.TickList, line, authz.Engineer, office(p.cast, 29, 11),
			"The abutment joint above this line is renewed under the paint contract of next year; a drip pan carries its water off until then.")
	}
	close := office(p.cast, 30, between(9, 15, e.name, "closing"))
	if gauged[e.name] && p.reaches("LDP") {
		at := office(hard, 6, 13)
		if recordedAt(e.name) {
			at = office(day(4, 29), 1, 11)
			e.proven("after", at, "Ratio, share and coincidence agree; the slip stays below a hundredth of a millimeter.")
			e.proven("weeks to June", office(day(6, 9), 1, 10), "Unchanged over the weeks.")
			e.proven("weeks to July", day(7, 15).Add(10*hour), "Unchanged over three months, warm days included.")
			e.complete("LDP", authz.Engineer, at.Add(30*minute))
		} else {
			e.inspect("load_path", "engaged", at, "Share of the reaction that passes through the panel under the test truck agrees with the design's.")
			e.complete("LDP", authz.Engineer, at.Add(30*minute))
		}
	}
	if p.reaches("CLS") {
		e.complete("CLS", authz.Inspector, close)
		e.release("CLS", authz.Engineer, office(close, 1+int(2*uniform(e.name, "wait")), 16))
	}
}

// waivedLines are the lines of tick lists that somebody did without, by end.
var waivedLines = map[string]string{"1F-2": "cause of the leak above dealt with"}

// waive does without a condition of a step.
func (e end) waive(code string, condition sequence.Condition, line string, by authz.Role, at time.Time, reason string) {
	e.tell(e.key("waive", code), by, at, e.ref, false, func(s *repair.Scope) (repair.Change, error) {
		for _, st := range s.Sequence() {
			if st.Code == code && !st.Retired {
				return repair.Waive{StepID: st.ID, Condition: string(condition), Line: line, Reason: reason}, nil
			}
		}
		return nil, fault.New(fault.NotFound, "the sequence has no step %s", code)
	})
}

// low4 are the pours whose set at four days came out a little low.
var low4 = map[string]bool{"6N 0423": true, "5N 0708": true}

// hardFinding are the ends at which the hardened inspection found something.
var hardFinding = map[string]bool{"5N-1": true}

// shiftAfter is the first shift of an access that starts after a moment and was
// not lost.
func shiftAfter(access string, at time.Time) time.Time {
	for _, w := range calendar() {
		if w.Kind == access && w.StartsAt.After(at) && w.State != "lost" {
			return w.StartsAt.In(zone)
		}
	}
	return at
}
