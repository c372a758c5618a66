package tablet

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"slices"
	"strings"
	"time"

	"endcast/internal/domain/repair"
	"endcast/internal/domain/stud"
	"endcast/internal/domain/units"
)

// StudsDigest names the studs of a design as they are now: two copies with one
// digest have the same marks at the same places.
func StudsDigest(r *repair.Record, designID string) string {
	h := sha256.New()
	for _, st := range r.StudsOf(designID) {
		fmt.Fprintf(h, "%q %s %v %v\n", st.Mark, st.Face, float64(st.X), float64(st.Z))
	}
	return hex.EncodeToString(h.Sum(nil))[:16]
}

// SequenceDigest names the steps in force: what they are called, in which order
// they come and what they ask for.
func SequenceDigest(s *repair.Scope) string {
	h := sha256.New()
	for _, st := range s.Sequence() {
		if st.Retired {
			continue
		}
		fmt.Fprintf(h, "%q %d %t %v %v %v %t %q\n", st.Code, st.Order, st.Hold, st.Performer, st.Releaser, st.Requires, st.AppliesToAll, st.Window)
	}
	return hex.EncodeToString(h.Sum(nil))[:16]
}

// Judgment is how an entry stands to the record that it reached.
type Judgment struct {
	// Aside says why the entry is kept aside and not applied; empty where it may be.
	Aside string
	// Changed are the lines that show the engineer what is different now.
	Changed []string
	// Differs says how a finding that is applied differs from another person's at
	// the same place, made in the meantime. Both stay on record.
	Differs string
}

func (j *Judgment) aside(format string, args ...any) {
	if j.Aside == "" {
		j.Aside = fmt.Sprintf(format, args...)
	}
}

func (j *Judgment) changed(format string, args ...any) {
	j.Changed = append(j.Changed, fmt.Sprintf(format, args...))
}

// Judge compares what an entry was made against with the record of its end, nil
// where there is no such end. at is when it was seen, by the server's clock; name
// gives the name of an account.
func Judge(e Envelope, ch repair.Change, at time.Time, s *repair.Scope, name func(id string) string) Judgment {
	var j Judgment
	if s == nil {
		j.aside("this program has no girder end %s any more", short(e.End))
		return j
	}
	r := s.Ends[0]
	for _, x := range s.Ends {
		if x.End.ID == e.EndID {
			r = x
		}
	}
	if r.End.Name != e.End {
		j.aside("the tablet calls this end %s and the record calls it %s", short(e.End), r.End.Name)
		j.changed("The end is called %s on record.", r.End.Name)
	}
	switch c := ch.(type) {
	case repair.RecordCollars:
		j.collars(e, c, at, r, name)
	case repair.RecordSurvey:
		j.survey(e, c, r, name)
	case repair.RecordInspection:
		j.sequence(e, s)
	case repair.RecordForm, repair.RecordCore:
		j.design(e, r)
		j.sequence(e, s)
	case repair.RecordTestStuds:
		j.diameter(e, c, r)
		j.sequence(e, s)
	case repair.RecordPour:
		j.poured(e, s)
	case repair.RaiseNonconformance:
		for _, code := range c.Stops {
			if !hasStep(s, code) {
				j.aside("the sequence has no step %s any more", short(code))
				j.changed("The steps are now: %s.", stepCodes(s))
			}
		}
	}
	return j
}

// against is the design that an entry was made on, in words.
func (e Envelope) against() string {
	if e.Against.Revision == 0 {
		return "another design"
	}
	return fmt.Sprintf("revision %d", e.Against.Revision)
}

// design: a form is checked against the panel of a revision, and a core feeds it.
func (j *Judgment) design(e Envelope, r *repair.Record) {
	d := r.DesignInForce()
	if d == nil {
		if e.Against.DesignID != "" {
			j.aside("this end has no design any more")
		}
		return
	}
	if d.ID == e.Against.DesignID {
		return
	}
	j.aside("it was made against %s; revision %d is in force now", e.against(), d.Revision)
	j.changed("The panel of revision %d is %s wide, %s high, %s thick on the left face and %s on the right.", d.Revision, mm(d.PanelWidth), mm(d.PanelHeight), mm(d.PanelLeft), mm(d.PanelRight))
	for i := range r.Designs {
		if was := &r.Designs[i]; was.ID == e.Against.DesignID {
			j.changed("That of revision %d was %s wide, %s high, %s thick on the left face and %s on the right.", was.Revision, mm(was.PanelWidth), mm(was.PanelHeight), mm(was.PanelLeft), mm(was.PanelRight))
		}
	}
}

// diameter: a set-up test holds for studs of its diameter.
func (j *Judgment) diameter(e Envelope, ch repair.RecordTestStuds, r *repair.Record) {
	d := r.DesignInForce()
	if d == nil || d.ID == e.Against.DesignID || d.StudDiameter == ch.Diameter {
		return
	}
	j.aside("it was made against %s; revision %d is in force now, and its studs have another diameter", e.against(), d.Revision)
	j.changed("The studs of revision %d are %s; the test was made with %s.", d.Revision, mm(d.StudDiameter), mm(ch.Diameter))
}

// poured: a pour happened, whatever was in force meanwhile; the engineer is told. A
// pour at an end that is gone waits for the engineer: it has to be put to others.
func (j *Judgment) poured(e Envelope, s *repair.Scope) {
	var b pourBody
	if e.read(&b) != nil {
		return
	}
	if len(b.Ends) == 0 {
		b.Ends = []pourEndBody{{ID: e.EndID, Name: e.End, DesignID: e.Against.DesignID, Revision: e.Against.Revision}}
	}
	var moved []string
	for _, x := range b.Ends {
		i := slices.IndexFunc(s.Ends, func(r *repair.Record) bool { return r.End.ID == x.ID })
		if i < 0 {
			j.aside("this program has no girder end %s any more", short(x.Name))
			continue
		}
		if d := s.Ends[i].DesignInForce(); d != nil && x.DesignID != "" && d.ID != x.DesignID {
			moved = append(moved, fmt.Sprintf("%s was cast by revision %d and revision %d is in force now", s.Ends[i].End.Name, x.Revision, d.Revision))
		}
	}
	if len(moved) > 0 {
		j.Differs = strings.Join(moved, "; ")
	}
}

// mm is a length as judgments are stored: pages turn it into the units of their
// reader.
func mm(l units.Length) string { return fmt.Sprintf("%.2f mm", float64(l)) }

// collars: a finding belongs to a stud of a revision. On another revision, or on one
// whose studs were moved, the same mark may be another stud.
func (j *Judgment) collars(e Envelope, ch repair.RecordCollars, at time.Time, r *repair.Record, name func(string) string) {
	d := r.DesignInForce()
	if d == nil {
		j.aside("this end has no design any more")
		return
	}
	if d.ID != e.Against.DesignID {
		j.aside("it was made against %s; revision %d is in force now", e.against(), d.Revision)
		j.changed("Revision %d has %d studs; its state is %s.", d.Revision, len(r.StudsOf(d.ID)), strings.ReplaceAll(d.State, "_", " "))
	} else if StudsDigest(r, d.ID) != e.Against.Studs {
		j.aside("the studs of revision %d were moved or renamed after the tablet took its copy", d.Revision)
	}
	now := map[string]repair.Stud{}
	for _, st := range r.StudsOf(d.ID) {
		now[st.Mark] = st
	}
	was := map[string]repair.Stud{}
	for _, st := range r.StudsOf(e.Against.DesignID) {
		was[st.Mark] = st
	}
	latest := r.LatestCollars(d.ID)
	for _, in := range ch.Collars {
		st, ok := now[in.Mark]
		if !ok {
			j.aside("revision %d has no stud %s", d.Revision, short(in.Mark))
			j.changed("Stud %s is not in revision %d.", short(in.Mark), d.Revision)
			continue
		}
		if old, ok := was[in.Mark]; ok && d.ID != e.Against.DesignID {
			if old.X == st.X && old.Z == st.Z && old.Face == st.Face {
				j.changed("Stud %s stands at the same place in revision %d.", in.Mark, d.Revision)
			} else {
				j.changed("Stud %s was at x %s, z %s, face %s, and is at x %s, z %s, face %s in revision %d.", in.Mark, mm(old.X), mm(old.Z), old.Face, mm(st.X), mm(st.Z), st.Face, d.Revision)
			}
		}
		other, found := latest[in.Mark]
		if !found || other.ByUser == e.By || other.ID == e.Against.Found {
			continue
		}
		words := fmt.Sprintf("%s found stud %s %s at %s UTC, after the tablet took its copy", name(other.ByUser), in.Mark, stud.Outcome(other.Outcome).Words(), other.CapturedAt.Format("2006-01-02 15:04"))
		switch counts, otherCounts := repair.CollarCounts(in.Outcome), repair.CollarCounts(other.Outcome); {
		case counts && !otherCounts && !at.Before(other.CapturedAt):
			// Accepting what somebody else has rejected is for the engineer, never for
			// whoever looked last and knew nothing of it.
			j.aside("%s", words)
			j.changed("%s.", words)
		case counts != otherCounts || in.Outcome != other.Outcome:
			j.Differs = words
		}
	}
}

// survey: readings taken against an older survey would replace newer ones. Surveys
// that the same person sent meanwhile are the tablet's own.
func (j *Judgment) survey(e Envelope, ch repair.RecordSurvey, r *repair.Record, name func(string) string) {
	for i := range r.Surveys {
		sv := &r.Surveys[i]
		if sv.Number <= e.Against.Survey || sv.RecordedBy == e.By {
			continue
		}
		j.aside("it was made after survey %d; survey %d came meanwhile", e.Against.Survey, sv.Number)
		least, n := -1.0, 0
		for _, x := range r.Readings {
			if x.SurveyID == sv.ID && x.SupersededBy == nil && !x.NoAccess {
				if n++; least < 0 || float64(x.T) < least {
					least = float64(x.T)
				}
			}
		}
		j.changed("Survey %d by %s, %s, taken at %s UTC: %d readings, the least %s.", sv.Number, name(sv.RecordedBy), strings.ReplaceAll(sv.Kind, "_", " "),
			sv.CapturedAt.Format("2006-01-02 15:04"), n, mm(units.Length(max(least, 0))))
		j.compare(ch, r, sv)
	}
}

// mostCompared is how many places a judgment lists one by one.
const mostCompared = 20

// compare lists where two surveys read one place and differ.
func (j *Judgment) compare(ch repair.RecordSurvey, r *repair.Record, sv *repair.Survey) {
	var that []repair.Reading
	for _, x := range r.Readings {
		if x.SurveyID == sv.ID {
			that = append(that, x)
		}
	}
	two := Compare(ch.Readings, that)
	for _, t := range two[:min(len(two), mostCompared)] {
		j.changed("%s", t.words(sv.Number))
	}
	if more := len(two) - mostCompared; more > 0 {
		j.changed("%d more places differ by less.", more)
	}
}

// sequence: what somebody signs for rests on the steps as they were.
func (j *Judgment) sequence(e Envelope, s *repair.Scope) {
	if e.Against.Sequence != "" && e.Against.Sequence != SequenceDigest(s) {
		j.aside("the sequence of steps was changed after the tablet took its copy")
		j.changed("The steps are now: %s.", stepCodes(s))
	}
}

func hasStep(s *repair.Scope, code string) bool {
	for _, st := range s.Sequence() {
		if st.Code == code && !st.Retired {
			return true
		}
	}
	return false
}

func stepCodes(s *repair.Scope) string {
	var out []string
	for _, st := range s.Sequence() {
		if !st.Retired {
			out = append(out, st.Code+" "+st.Name)
		}
	}
	return strings.Join(out, ", ")
}

// Now returns the change as it would be made against the record as it stands: for
// an entry that the engineer applies after all.
func Now(ch repair.Change, r *repair.Record) repair.Change {
	if c, ok := ch.(repair.RecordCollars); ok {
		if d := r.DesignInForce(); d != nil {
			c.DesignID = d.ID
		}
		return c
	}
	return ch
}
