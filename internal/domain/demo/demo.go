// Package demo tells the story of one invented bridge, its 58 girder ends and a
// season of work on them, as the edits that people would have made. Every name,
// number and event is made up.
//
// The story is a list of steps in the order of their times. Each step becomes one
// edit, by a person in a role, made through the same door as any other edit.
// Nothing is drawn from a random source: every draw is a hash of a seed, the end
// and what is drawn, so that the story is the same each time and does not depend
// on the order in which its parts are told.
package demo

import (
	"crypto/sha256"
	"slices"
	"strings"
	"time"

	"github.com/google/uuid"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/repair"
)

// Code is the address of the demonstration program.
const Code = "brindle-hollow"

// zone is the bridge's clock: a fixed one, so that the story needs no table of
// time zones.
var zone = time.FixedZone("-05", -5*60*60)

// Today is the day on which the demonstration lives.
var Today = time.Date(2027, 7, 16, 0, 0, 0, 0, time.UTC)

// cut is the last moment of the story: nobody who looks at the demonstration on
// its own day can be earlier.
var cut = Today.Add(-time.Minute)

// Step is one edit of the story.
type Step struct {
	Key      string     // unique in the story; the identifier of the edit follows from it
	By       authz.Role // every role is one person
	At       time.Time  // when it arrived
	Captured time.Time  // when it was seen or done
	Ends     []string   // names of the ends concerned
	AllEnds  bool       // concerns every end of the program
	Fixed    bool       // the change does not depend on the record: Make takes a nil scope
	// Make returns the change for the record as it is at that moment, or nil if
	// the record asks for none.
	Make func(*repair.Scope) (repair.Change, error)
	// Samples returns what a recording of strain was made of, after Make; nil for a step
	// of another kind.
	Samples func() (*Samples, error)
}

// ID is the identifier of a step's edit.
func (s Step) ID() string { return hashID("entry", s.Key) }

// hashID makes an identifier from texts, in the form of RFC 9562, version 8.
func hashID(parts ...string) string {
	sum := sha256.Sum256([]byte(seed + "\n" + strings.Join(parts, "\n")))
	id := uuid.UUID(sum[:16])
	id[6] = id[6]&0x0f | 0x80
	id[8] = id[8]&0x3f | 0x80
	return id.String()
}

// ProgramID is the identifier of the demonstration program.
func ProgramID() string { return hashID("program") }

// Person is one of the people of the story.
type Person struct {
	Role     authz.Role
	Name     string
	Email    string
	Password string // printed by whoever loads the demonstration
}

// People lists one invented person for each role.
func People() []Person {
	names := map[authz.Role]string{
		authz.Administrator: "Odile Marchbank", authz.Engineer: "Ruben Tallis", authz.Designer: "Maren Oakhurst", authz.Inspector: "Idris Fenwick-Low",
		authz.Contractor: "Bettany Crole", authz.Laboratory: "Sunniva Pell", authz.Manager: "Leopold Asante-Wray",
	}
	var out []Person
	for _, r := range authz.Roles() {
		out = append(out, Person{Role: r, Name: names[r], Email: string(r) + "@demo.example", Password: "brindle-hollow-" + string(r)})
	}
	return out
}

// Story returns the steps in the order of their times.
func Story() []Step {
	t := &teller{}
	t.opening()
	t.loads()
	t.older()
	t.windows()
	t.shifts()
	for _, e := range plans {
		t.life(e)
	}
	for _, p := range pours() {
		t.pour(p)
	}
	t.tonight()
	t.eveningPosted()
	t.findings()
	t.questions()
	t.asides()
	slices.SortStableFunc(t.steps, func(a, b Step) int { return a.At.Compare(b.At) })
	return t.steps
}

// teller collects the steps that lie before the end of the story.
type teller struct {
	steps []Step
	late  time.Duration // how long entries wait for a signal now
}

// tell adds a step. What was done arrives two minutes later, or when there is a
// signal again.
func (t *teller) tell(key string, by authz.Role, at time.Time, ends []string, fixed bool, make func(*repair.Scope) (repair.Change, error)) {
	arrived := at.Add(2*minute + t.late)
	if arrived.After(cut) {
		return
	}
	t.steps = append(t.steps, Step{Key: key, By: by, At: arrived.UTC(), Captured: at.UTC(), Ends: ends, Fixed: fixed, Make: make})
}

// say adds a step whose change does not depend on the record.
func (t *teller) say(key string, by authz.Role, at time.Time, ends []string, change repair.Change) {
	t.tell(key, by, at, ends, true, func(*repair.Scope) (repair.Change, error) { return change, nil })
}

// all adds a step that concerns every end of the program.
func (t *teller) all(key string, by authz.Role, at time.Time, change repair.Change) {
	n := len(t.steps)
	t.say(key, by, at, nil, change)
	for i := n; i < len(t.steps); i++ {
		t.steps[i].AllEnds = true
	}
}
