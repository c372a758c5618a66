// Package authz is the one table that says which role may do what. Pages, routes
// and imports ask it; nothing else in the program compares roles.
package authz

import (
	"slices"

	"github.com/google/uuid"
)

// Role is what a person is in one program.
type Role string

// Roles of a program.
const (
	Administrator Role = "administrator"
	Engineer      Role = "engineer" // the owner's engineer, who reviews and decides
	Designer      Role = "designer"
	Inspector     Role = "inspector"
	Contractor    Role = "contractor" // superintendent or quality control
	Laboratory    Role = "laboratory"
	Manager       Role = "manager" // reads everything, changes nothing
)

// Roles returns every role of a program, in the order in which pages list them.
func Roles() []Role {
	return []Role{Administrator, Engineer, Designer, Inspector, Contractor, Laboratory, Manager}
}

// Valid reports whether r is one of Roles.
func (r Role) Valid() bool { return slices.Contains(Roles(), r) }

// Action is something a person may ask the program to do.
type Action string

// Actions that need no program.
const (
	Public        Action = "public"         // anyone, signed in or not
	OwnAccount    Action = "own_account"    // anyone signed in: one's own password, units, programs
	CreateProgram Action = "create_program" // open a program for another bridge
	ManageSite    Action = "manage_site"    // every account of this installation
	OwnToken      Action = "own_token"      // anyone who asks: what the token at hand is and opens
)

// Actions within one program.
const (
	SeeProgram           Action = "see_program"
	SeeHistory           Action = "see_history"
	Export               Action = "export"
	Import               Action = "import"
	EditProgram          Action = "edit_program"
	EditSequence         Action = "edit_sequence"
	EditBasis            Action = "edit_basis"
	ManagePeople         Action = "manage_people"
	AcceptMockup         Action = "accept_mockup"
	PlanWindow           Action = "plan_window"      // plan one, and record that it was shortened, lost or used
	GrantWindow          Action = "grant_window"     // the owner's word that it may be used
	PlanShift            Action = "plan_shift"       // crews, what steps take, who works where in a window, promises
	ForecastSample       Action = "forecast_sample"  // leave a past window out of the forecast
	EditEnd              Action = "edit_end"         // an end's facts, and what it must carry
	EnterProcedure       Action = "enter_procedure"  // transcribe a procedure for corroded ends
	DecideProcedure      Action = "decide_procedure" // check one, put it in force, retire it
	RecordSurvey         Action = "record_survey"
	EditDesign           Action = "edit_design"
	SubmitDesign         Action = "submit_design"
	ReviewDesign         Action = "review_design"
	ConfirmDesign        Action = "confirm_design"
	DiscussDesign        Action = "discuss_design" // ask of a revision, answer, withdraw
	CompleteStep         Action = "complete_step"
	ReleaseHold          Action = "release_hold"
	RecordCleaning       Action = "record_cleaning"
	RecordCollar         Action = "record_collar"
	RaiseNonconformance  Action = "raise_nonconformance"
	DecideNonconformance Action = "decide_nonconformance"
	RecordPour           Action = "record_pour"
	RecordBreak          Action = "record_break"
	SeeOriginal          Action = "see_original" // of a photograph that is shown as a copy only

	RecordMockup         Action = "record_mockup"         // what was cast, cut and found
	DecideMockup         Action = "decide_mockup"         // accept it or not, for one's role
	EditPlan             Action = "edit_plan"             // the specimens to be made of a casting
	DecideBatch          Action = "decide_batch"          // let a batch outside a stop limit stand
	KeepSpecimens        Action = "keep_specimens"        // make them, demold them, say that one is lost
	ReviewSpecimens      Action = "review_specimens"      // review a set, leave a break out of it
	RecordCuring         Action = "record_curing"         // logs of temperature, readings by hand, the end of curing
	DecideStrip          Action = "decide_strip"          // the gate before the form comes off
	DecideTraffic        Action = "decide_traffic"        // the gate before traffic returns
	Waive                Action = "waive"                 // do without a condition of a step
	ProposeDisposition   Action = "propose_disposition"   // of a nonconformance, and what contains it
	WorkNonconformance   Action = "work_nonconformance"   // say that what was decided is done
	VerifyNonconformance Action = "verify_nonconformance" // look at the work again, and close
	RecordStrain         Action = "record_strain"         // sensors of an end and their recordings
	ConfirmVerdict       Action = "confirm_verdict"       // on strain records, and what strains are turned into forces with
	MakeDocument         Action = "make_document"         // put a PDF on record that can be signed
	SignDocument         Action = "sign_document"         // as far as the role goes: prepared, checked, approved, as built
)

// grant is how far a role may go with an action.
type grant uint8

const (
	no      grant = iota
	ifNamed       // only where the step at hand names the role
	yes           // always
)

// rule is one line of the table: roles that may, roles that may where a step
// names them, and whether the administrator of the installation may as well.
type rule struct {
	action Action
	may    []Role
	named  []Role
	site   bool
}

var everyone = Roles()

// table is the whole of authorisation within a program. A site administrator
// keeps the machine and the people, and decides nothing about steel or concrete.
var table = []rule{
	{SeeProgram, everyone, nil, true},
	{SeeHistory, everyone, nil, true},
	{SeeOriginal, []Role{Administrator, Engineer}, nil, false},
	{Export, everyone, nil, true},
	{Import, []Role{Administrator, Designer}, nil, false},
	{EditProgram, []Role{Administrator}, nil, true},
	{EditSequence, []Role{Administrator}, nil, false},
	{EditBasis, []Role{Administrator, Engineer}, nil, false},
	{ManagePeople, []Role{Administrator}, nil, true},
	{AcceptMockup, []Role{Engineer}, nil, false},
	{PlanWindow, []Role{Administrator, Engineer, Contractor}, nil, false},
	{GrantWindow, []Role{Administrator, Engineer}, nil, false},
	{PlanShift, []Role{Administrator, Engineer, Contractor, Manager}, nil, false},
	{ForecastSample, []Role{Administrator, Engineer, Manager}, nil, false},
	{EditEnd, []Role{Designer, Engineer, Administrator}, nil, false},
	{EnterProcedure, []Role{Designer, Engineer}, nil, false},
	{DecideProcedure, []Role{Engineer}, nil, false},
	{RecordSurvey, []Role{Inspector, Designer, Engineer}, nil, false},
	{EditDesign, []Role{Designer, Engineer}, nil, false},
	{SubmitDesign, []Role{Designer, Engineer}, nil, false},
	{ReviewDesign, []Role{Engineer}, nil, false},
	{ConfirmDesign, []Role{Engineer}, nil, false},
	{DiscussDesign, []Role{Engineer, Designer, Inspector, Contractor}, nil, false},
	{CompleteStep, []Role{Inspector, Contractor, Engineer}, []Role{Designer, Laboratory}, false},
	{ReleaseHold, []Role{Engineer}, []Role{Inspector}, false},
	{RecordCleaning, []Role{Inspector}, nil, false},
	{RecordCollar, []Role{Inspector}, nil, false},
	{RaiseNonconformance, []Role{Inspector, Contractor, Engineer, Laboratory}, nil, false},
	{DecideNonconformance, []Role{Engineer}, nil, false},
	{RecordPour, []Role{Inspector, Contractor}, nil, false},
	{RecordBreak, []Role{Laboratory}, nil, false},
	{RecordMockup, []Role{Inspector, Contractor, Engineer}, nil, false},
	{DecideMockup, []Role{Engineer}, []Role{Administrator, Designer, Inspector, Contractor, Laboratory}, false},
	{EditPlan, []Role{Administrator, Engineer}, nil, false},
	{DecideBatch, []Role{Engineer}, nil, false},
	{KeepSpecimens, []Role{Laboratory, Inspector, Contractor}, nil, false},
	{ReviewSpecimens, []Role{Engineer}, nil, false},
	{RecordCuring, []Role{Inspector, Contractor, Laboratory}, nil, false},
	{DecideStrip, []Role{Engineer, Inspector}, nil, false},
	{DecideTraffic, []Role{Engineer}, nil, false},
	{Waive, []Role{Engineer}, []Role{Inspector}, false},
	{ProposeDisposition, []Role{Contractor, Inspector, Engineer}, nil, false},
	{WorkNonconformance, []Role{Contractor, Inspector, Engineer}, nil, false},
	{VerifyNonconformance, []Role{Inspector, Engineer}, nil, false},
	{RecordStrain, []Role{Engineer, Designer, Inspector, Contractor}, nil, false},
	{ConfirmVerdict, []Role{Engineer}, nil, false},
	{MakeDocument, []Role{Administrator, Engineer, Designer, Inspector, Contractor, Laboratory}, nil, false},
	{SignDocument, []Role{Engineer, Designer, Inspector, Contractor}, nil, false},
}

// siteTable holds the actions that belong to no program.
var siteTable = map[Action]struct{ signedIn, site bool }{
	Public:        {false, false},
	OwnAccount:    {true, false},
	CreateProgram: {true, true},
	ManageSite:    {true, true},
	OwnToken:      {true, false},
}

// Actions returns every action within a program, in the order of the table.
func Actions() []Action {
	out := make([]Action, len(table))
	for i, r := range table {
		out[i] = r.action
	}
	return out
}

// Known reports whether a is an action of either table.
func Known(a Action) bool {
	_, ok := siteTable[a]
	return ok || slices.ContainsFunc(table, func(r rule) bool { return r.action == a })
}

// OfProgram reports whether an action needs a program to be asked about.
func OfProgram(a Action) bool {
	_, site := siteTable[a]
	return !site
}

// Person is whom the table is asked about. The zero value is somebody who has
// not signed in and may do nothing but what is public.
type Person struct {
	ID        uuid.UUID
	SiteAdmin bool
	Roles     map[uuid.UUID]Role // by program
	Token     *Token             // narrows what is asked through a token; nil for a person at a page
}

// Can reports whether a person may do an action in a program. For an action that
// belongs to no program the program is ignored. Where the table says "where a step
// names the role", Can answers no: ask CanStep.
func Can(p Person, program uuid.UUID, a Action) bool {
	return level(p, program, a) == yes
}

// CanStep reports whether a person may do an action at a step that names roles:
// then exactly the named roles may, as far as the table lets a step name them. With
// no names it answers as Can does.
func CanStep(p Person, program uuid.UUID, a Action, named []Role) bool {
	g := level(p, program, a)
	if len(named) == 0 {
		return g == yes
	}
	return g != no && slices.Contains(named, p.Roles[program])
}

// MayAtSomeStep reports whether Can or CanStep can ever answer yes. A route uses
// it as its first gate, before the step at hand is known.
func MayAtSomeStep(p Person, program uuid.UUID, a Action) bool {
	return level(p, program, a) != no
}

func level(p Person, program uuid.UUID, a Action) grant {
	if p.Token != nil && !p.Token.allows(program, a) {
		return no
	}
	if s, ok := siteTable[a]; ok {
		if (s.signedIn && p.ID == uuid.Nil) || (s.site && !p.SiteAdmin) {
			return no
		}
		return yes
	}
	if p.ID == uuid.Nil {
		return no
	}
	for _, r := range table {
		if r.action != a {
			continue
		}
		role := p.Roles[program]
		switch {
		case slices.Contains(r.may, role), r.site && p.SiteAdmin:
			return yes
		case slices.Contains(r.named, role):
			return ifNamed
		}
		return no
	}
	return no
}
