package repair

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"reflect"
	"slices"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/fault"
)

// Place says which ends an entry of a kind names.
type Place string

// Places of a change.
const (
	AtOneEnd  Place = "end"     // exactly one, as the person saw it
	AtAnyEnds Place = "ends"    // one or more
	AtNone    Place = "none"    // none: the change says itself what it reaches
	AtProgram Place = "program" // none: it concerns every end of the program
)

// Listed is a change that a program may ask for by its kind, as JSON.
type Listed struct {
	Kind   string
	Action authz.Action // that the person must be allowed
	Named  bool         // the change itself asks which roles a step or a program names
	Place  Place
	Fresh  bool // a new observation or one that carries a digest: a version may be left out
	Type   reflect.Type

	first func() any // a new value to read into, with what the kind fixes
}

// Read reads the body of a change. It refuses, naming the field, what is no field of the
// change and what is no value of it.
func (l Listed) Read(body []byte) (Change, error) {
	into := l.first()
	if len(bytes.TrimSpace(body)) > 0 {
		dec := json.NewDecoder(bytes.NewReader(body))
		dec.DisallowUnknownFields()
		err := dec.Decode(into)
		if err == nil && dec.Decode(&struct{}{}) != io.EOF {
			err = errors.New("more than one value")
		}
		if err != nil {
			return nil, unread(err)
		}
	}
	ch, ok := reflect.ValueOf(into).Elem().Interface().(Change)
	if !ok || ch.Kind() != l.Kind {
		var bad fault.Invalid
		bad.Add("kind", l.Kind, "the body is of another kind")
		return nil, bad.Err()
	}
	return ch, nil
}

// unread names the field of a body that could not be read.
func unread(err error) error {
	var bad fault.Invalid
	if t, ok := errors.AsType[*json.UnmarshalTypeError](err); ok {
		bad.Add("change."+t.Field, t.Value, "is a %s, and must be a %s", t.Value, jsonWord(t.Type))
		return bad.Err()
	}
	bad.Add("change", "", "%s", err.Error())
	return bad.Err()
}

func jsonWord(t reflect.Type) string {
	switch t.Kind() {
	case reflect.Slice, reflect.Array:
		return "list"
	case reflect.Map, reflect.Struct:
		return "object"
	case reflect.Bool:
		return "true or false"
	case reflect.String:
		return "text"
	case reflect.Float64, reflect.Float32:
		return "number"
	}
	return "whole number"
}

func changeAs[T Change](action authz.Action, place Place, first T, more ...func(*Listed)) Listed {
	l := Listed{Kind: first.Kind(), Action: action, Place: place, Type: reflect.TypeFor[T](), first: func() any { x := first; return &x }}
	for _, f := range more {
		f(&l)
	}
	return l
}

func asFresh(l *Listed) { l.Fresh = true }
func asNamed(l *Listed) { l.Named = true }

var catalogue = []Listed{
	changeAs(authz.EditProgram, AtProgram, EditProgram{}),
	changeAs(authz.EditBasis, AtProgram, EditBasis{}),
	changeAs(authz.EditBasis, AtNone, EditAssumptions{}),
	changeAs(authz.EditBasis, AtNone, EditTruck{}),
	changeAs(authz.EditSequence, AtProgram, EditSequence{}),
	changeAs(authz.EnterProcedure, AtNone, EnterProcedure{}),
	changeAs(authz.DecideProcedure, AtNone, CheckProcedure{}),
	changeAs(authz.DecideProcedure, AtNone, PutProcedureInForce{}),
	changeAs(authz.DecideProcedure, AtNone, RetireProcedure{}),
	changeAs(authz.PlanWindow, AtProgram, SetWindow{}),

	changeAs(authz.EditEnd, AtOneEnd, EditEnd{}),
	changeAs(authz.EditEnd, AtOneEnd, ChooseSteps{}),
	changeAs(authz.EditEnd, AtOneEnd, EditEndDemand{}),
	changeAs(authz.EditEnd, AtNone, EditSpanDemand{}),
	changeAs(authz.EditEnd, AtNone, EditLoadParts{}),

	changeAs(authz.RecordSurvey, AtOneEnd, RecordSurvey{}),
	changeAs(authz.RecordSurvey, AtOneEnd, EditSurvey{}),
	changeAs(authz.EditDesign, AtOneEnd, SaveDesign{}),
	changeAs(authz.EditDesign, AtAnyEnds, SaveDesigns{}),
	changeAs(authz.SubmitDesign, AtOneEnd, SubmitDesign{}),
	changeAs(authz.ReviewDesign, AtOneEnd, ReviewDesign{}, asFresh),
	changeAs(authz.ReviewDesign, AtAnyEnds, ReviewDesigns{}, asFresh),
	changeAs(authz.ConfirmDesign, AtOneEnd, ConfirmDesign{}, asFresh),

	// Which role may do which act at which step is asked for each step.
	changeAs(authz.CompleteStep, AtOneEnd, StepAct{Act: "completed"}, asNamed),
	changeAs(authz.ReleaseHold, AtOneEnd, StepAct{Act: "released"}, asNamed),
	changeAs(authz.ReleaseHold, AtOneEnd, StepAct{Act: "returned"}, asNamed),
	changeAs(authz.CompleteStep, AtOneEnd, StepAct{Act: "reopened"}, asNamed),
	changeAs(authz.Waive, AtOneEnd, Waive{}, asNamed),
	changeAs(authz.Waive, AtOneEnd, WithdrawWaiver{}, asNamed),
	changeAs(authz.DecideStrip, AtOneEnd, DecideGate{Decision: GatePassed}),
	changeAs(authz.DecideStrip, AtOneEnd, DecideGate{Decision: GateRefused}),

	changeAs(authz.RecordCleaning, AtOneEnd, RecordCleaning{}, asFresh),
	changeAs(authz.RecordCleaning, AtOneEnd, RecordCleanings{}, asFresh),
	changeAs(authz.RecordCollar, AtOneEnd, RecordCollars{}, asFresh),
	changeAs(authz.CompleteStep, AtOneEnd, RecordInspection{}, asFresh, asNamed),
	changeAs(authz.CompleteStep, AtOneEnd, RecordFieldCheck{}, asFresh),
	changeAs(authz.CompleteStep, AtOneEnd, RecordTestStuds{}, asFresh),
	changeAs(authz.CompleteStep, AtOneEnd, RecordForm{}, asFresh),
	changeAs(authz.CompleteStep, AtOneEnd, RecordCore{}, asFresh),
	changeAs(authz.CompleteStep, AtOneEnd, PinPhoto{}, asFresh),

	changeAs(authz.RaiseNonconformance, AtOneEnd, RaiseNonconformance{}, asFresh),
	changeAs(authz.ProposeDisposition, AtOneEnd, ProposeDisposition{}),
	changeAs(authz.DecideNonconformance, AtOneEnd, SendBackDisposition{}),
	changeAs(authz.DecideNonconformance, AtOneEnd, DecideNonconformance{}),
	changeAs(authz.WorkNonconformance, AtOneEnd, WorkNonconformance{}),
	changeAs(authz.VerifyNonconformance, AtOneEnd, ReinspectNonconformance{}),
	changeAs(authz.VerifyNonconformance, AtOneEnd, CloseNonconformance{}),
	changeAs(authz.DecideNonconformance, AtOneEnd, WithdrawNonconformance{}),
	changeAs(authz.DecideNonconformance, AtOneEnd, ReopenNonconformance{}),

	changeAs(authz.AcceptMockup, AtProgram, AcceptMockup{}),
	changeAs(authz.AcceptMockup, AtProgram, WithdrawMockup{}),
	changeAs(authz.RecordMockup, AtNone, RecordMockup{}),
	changeAs(authz.RecordMockup, AtNone, CorrectMockup{}),
	changeAs(authz.DecideMockup, AtNone, DecideMockup{}, asNamed),
	changeAs(authz.EditPlan, AtNone, SetMockupRoles{}),
	changeAs(authz.EditPlan, AtNone, SetSpecimenPlan{}),

	changeAs(authz.RecordPour, AtAnyEnds, RecordPour{}, asFresh),
	changeAs(authz.RecordPour, AtAnyEnds, OpenPour{}, asFresh),
	changeAs(authz.RecordPour, AtNone, FinishPour{}),
	changeAs(authz.RecordPour, AtNone, AddBatch{}),
	changeAs(authz.RecordPour, AtNone, PlaceBatch{}),
	changeAs(authz.RecordPour, AtNone, CorrectBatch{}),
	changeAs(authz.RecordPour, AtNone, RefuseBatch{}),
	changeAs(authz.DecideBatch, AtNone, DecideBatch{}),
	changeAs(authz.KeepSpecimens, AtNone, AddSpecimens{}),
	changeAs(authz.KeepSpecimens, AtNone, DemoldSpecimens{}),
	changeAs(authz.KeepSpecimens, AtNone, LoseSpecimen{}),
	changeAs(authz.RecordBreak, AtNone, RecordBreak{}),
	changeAs(authz.RecordBreak, AtNone, RecordBreaks{}),
	changeAs(authz.RecordBreak, AtNone, CorrectBreak{}),
	changeAs(authz.ReviewSpecimens, AtNone, ExcludeSpecimen{}),
	changeAs(authz.ReviewSpecimens, AtNone, ReviewSet{}),
	changeAs(authz.RecordCuring, AtNone, AddHandReadings{}),
	changeAs(authz.RecordCuring, AtNone, WithdrawCuringLog{}),
	changeAs(authz.RecordCuring, AtNone, EndCuring{}),
}

// unlisted are the changes that no program asks for by kind, by the name of their type,
// with the reason. A change in neither list fails a test.
var unlisted = map[string]string{
	"CreateProgram":        "a token belongs to a program that is there",
	"ImportBridge":         "a table is looked through before it is taken, on the page of files",
	"SetWindows":           "windows are set one by one",
	"SubmitDraft":          "save, then submit",
	"AddPhoto":             "it comes with the file of a picture",
	"RecordCuringLog":      "it comes with the file of a logger",
	"KeepAside":            "the store itself keeps what a tablet sent",
	"AskQuestion":          "questions on a revision are asked on the page of its review",
	"AnswerQuestion":       "questions on a revision are asked on the page of its review",
	"RecordStrain":         "it comes with the file of a recording",
	"WithdrawRecording":    "sensors and what they wrote are looked at on their own pages",
	"SaveSensor":           "sensors and what they wrote are looked at on their own pages",
	"RemoveSensor":         "sensors and what they wrote are looked at on their own pages",
	"ConfirmVerdict":       "sensors and what they wrote are looked at on their own pages",
	"SetStrainSetup":       "sensors and what they wrote are looked at on their own pages",
	"ConfirmWindow":        "a shift is planned on its own pages",
	"WithdrawConfirmation": "a shift is planned on its own pages",
	"ChooseForWindow":      "a shift is planned on its own pages",
	"MakePromises":         "a shift is planned on its own pages",
	"SettlePromise":        "a shift is planned on its own pages",
	"LeaveOutWindow":       "a shift is planned on its own pages",
	"SetWindowKind":        "a shift is planned on its own pages",
	"SetCrew":              "a shift is planned on its own pages",
	"SetEffort":            "a shift is planned on its own pages",
	"SetStock":             "a shift is planned on its own pages",
	"MakeDocument":         "a document is made and signed by a person at a page",
	"SignDocument":         "a document is made and signed by a person at a page",
	"DecideRelease":        "a release for casting is decided on the page of its evidence",
	"TickLines":            "a line of a release is ticked beside its evidence",
	"DecideAside":          "it is decided on the page of what was kept aside",
}

// Catalogue returns every change that a program may ask for, in order of subjects.
func Catalogue() []Listed { return slices.Clone(catalogue) }

// ListedAs returns the change of a kind, or fault.Fields that names the kind.
func ListedAs(kind string) (Listed, error) {
	if i := slices.IndexFunc(catalogue, func(l Listed) bool { return l.Kind == kind }); i >= 0 {
		return catalogue[i], nil
	}
	var bad fault.Invalid
	bad.Add("kind", kind, "%s", fmt.Sprintf("no change is of the kind %.60q", kind))
	return Listed{}, bad.Err()
}
