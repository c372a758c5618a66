package web

import "strings"

// entryKinds are the kinds of entry in words.
var entryKinds = map[string]string{
	"program.create": "Program opened", "program.edit": "Program edited", "basis.edit": "Design basis edited", "assumption.edit": "Assumed rate of loss edited", "bridge.import": "Bridge imported",
	"sequence.edit": "Sequence edited", "mockup.accept": "Mock-up accepted", "window.set": "Access window set", "window.set_many": "Access windows set",
	"shift.kind": "Kind of access described", "shift.crew": "Crew set", "shift.effort": "Effort of a step set", "shift.stock": "Stock on hand set", "shift.confirm": "Confirmed for a window", "shift.unconfirm": "Confirmation withdrawn",
	"shift.choose": "End chosen for a window", "shift.promise": "Steps promised", "shift.settle": "Promise settled", "shift.leave_out": "Window and the forecast",
	"end.edit": "Facts edited", "end.choose_steps": "Steps chosen", "survey.record": "Survey recorded", "survey.edit": "Survey corrected",
	"design.save": "Design drafted", "design.submit": "Design submitted for review", "design.review": "Design reviewed", "design.review_several": "Like designs reviewed in one sitting", "design.confirm": "Design confirmed",
	"question.ask": "Question asked", "question.answer": "Question answered", "question.again": "Question asked again", "question.withdraw": "Question withdrawn",
	"step.completed": "Step completed", "step.released": "Hold released", "step.returned": "Request returned", "step.reopened": "Step reopened",
	"cleaning.record": "Cleaning recorded", "collar.record": "Collars inspected", "inspection.record": "Inspection recorded", "photo.add": "Photograph added", "photo.pin": "Photograph described anew",
	"nonconformance.raise": "Nonconformance raised", "nonconformance.decide": "Nonconformance decided", "nonconformance.close": "Nonconformance closed",
	"curing.log": "Curing log recorded", "curing.hand": "Curing readings recorded by hand", "curing.withdraw": "Curing log withdrawn", "curing.end": "End of curing recorded",
	"pour.record": "Pour recorded", "specimen.break": "Specimen broken", "mockup.withdraw": "Acceptance of the mock-up withdrawn",
	"mockup.record": "Mock-up recorded", "mockup.correct": "Record of a mock-up corrected", "mockup.decide": "Mock-up decided on", "mockup.roles": "Roles that accept a mock-up named",
	"casting.released": "Released for casting", "casting.refused": "Release for casting refused", "step.tick": "Lines of a tick list ticked",
	"gate.passed": "Gate passed", "gate.refused": "Gate refused", "step.waive": "Condition of a step waived", "step.unwaive": "Waiver withdrawn",
	"test_stud.record": "Test studs recorded", "form.record": "Form checked", "core.record": "Core through the deck recorded",
	"field_check.record": "Check recorded", "tablet.keep_aside": "Entry of a tablet kept aside", "tablet.apply": "Entry kept aside applied", "tablet.record_only": "Entry kept aside left on record",
	"truck.edit": "Vehicle edited", "span.demand": "Cross section of a span edited", "span.load_parts": "Dead load of a span edited", "end.demand": "Way of the demand chosen",
	"sensor.save": "Sensor recorded", "sensor.remove": "Sensor taken out", "recording.add": "Strain recording taken", "recording.withdraw": "Strain recording withdrawn",
	"strain.setup": "Stiffnesses for strain records set", "strain.confirm": "Verdict on strain records confirmed",
	"document.make": "Document made", "document.sign": "Document signed",
	"people.add": "Person added", "people.role": "Role changed", "people.remove": "Person taken out", "people.disable": "Account shut", "people.enable": "Account opened again", "people.sign_out": "Signed out everywhere", "people.token": "Token made", "people.token_revoke": "Token revoked",
}

func entryWords(kind string) string {
	if w := entryKinds[kind]; w != "" {
		return w
	}
	return strings.NewReplacer(".", ": ", "_", " ").Replace(kind)
}

// tableWords are the tables in words: one row, several rows.
var tableWords = map[string][2]string{
	"program": {"Program", "Programs"}, "basis_setting": {"Setting of the design basis", "Settings of the design basis"}, "step": {"Step of the sequence", "Steps of the sequence"}, "assumption": {"Assumed rate of loss", "Assumed rates of loss"},
	"support": {"Support", "Supports"}, "span": {"Span", "Spans"}, "section": {"Section", "Sections"}, "access_window": {"Access window", "Access windows"},
	"window_kind": {"Kind of access", "Kinds of access"}, "window_confirmation": {"Confirmation for a window", "Confirmations for windows"}, "crew": {"Crew", "Crews"}, "step_effort": {"Effort of a step", "Efforts of steps"},
	"shift_stock": {"Stock on hand", "Stock on hand"}, "window_choice": {"Choice for a window", "Choices for windows"}, "promise": {"Promise", "Promises"}, "window_exclusion": {"Window left out of the forecast", "Windows left out of the forecast"},
	"girder_end": {"Facts of the end", "Girder ends"}, "survey": {"Survey", "Surveys"}, "reading": {"Reading", "Readings"}, "hole": {"Hole", "Holes"},
	"design": {"Design revision", "Design revisions"}, "stud": {"Stud", "Studs"}, "review": {"Review", "Reviews"}, "review_note": {"Note of an approval", "Notes of an approval"},
	"review_question": {"Question", "Questions"}, "review_answer": {"Answer", "Answers"}, "step_record": {"Record on a step", "Records on steps"},
	"cleaning": {"Cleaning", "Cleanings"}, "collar": {"Collar", "Collars"}, "inspection": {"Inspection", "Inspections"},
	"nonconformance": {"Nonconformance", "Nonconformances"}, "photo": {"Photograph", "Photographs"}, "pour": {"Pour", "Pours"}, "pour_end": {"End of a pour", "Ends of a pour"},
	"truck": {"Vehicle", "Vehicles"}, "span_demand": {"Cross section of a span", "Cross sections of spans"}, "load_part": {"Part of the dead load", "Parts of the dead load"},
	"end_demand": {"How the demand comes", "How demands come"},
	"batch":      {"Batch", "Batches"}, "specimen": {"Specimen", "Specimens"}, "batch_end": {"End of a batch", "Ends of a batch"},
	"mockup": {"Mock-up", "Mock-ups"}, "mockup_decision": {"Decision on a mock-up", "Decisions on mock-ups"}, "specimen_plan": {"Specimens to be made", "Specimens to be made"},
	"set_review": {"Review of a set", "Reviews of sets"}, "strength_test": {"Strength test", "Strength tests"}, "curing_log": {"Curing log", "Curing logs"},
	"logger_map": {"Columns of a logger", "Columns of loggers"}, "gate_decision": {"Decision on a gate", "Decisions on gates"}, "waiver": {"Waiver", "Waivers"},
	"sensor": {"Sensor", "Sensors"}, "recording": {"Strain recording", "Strain recordings"}, "strain_setup": {"Stiffnesses for strain records", "Stiffnesses for strain records"},
	"strain_verdict": {"Verdict on strain records", "Verdicts on strain records"},
	"test_stud":      {"Test studs", "Test studs"}, "form_check": {"Form check", "Form checks"}, "deck_core": {"Core through the deck", "Cores through the deck"},
	"document": {"Document", "Documents"}, "signature": {"Signature", "Signatures"},
	"step_tick": {"Tick", "Ticks"}, "release_decision": {"Decision on the list before casting", "Decisions on the list before casting"},
}

// quietColumns say nothing to a reader: keys, and what the program keeps for
// itself. What was typed stands beside its value already.
var quietColumns = map[string]bool{"id": true, "program_id": true, "end_id": true, "pour_id": true, "version": true, "typed": true, "created_at": true, "updated_at": true,
	"arrived_at": true, "step_id": true, "survey_id": true, "design_id": true, "raised_by": true, "by_user": true, "by_name": true, "by_role": true, "recorded_by": true}

// titleColumns are the columns that name a row of a table, in their order.
var titleColumns = map[string][]string{
	"reading": {"face", "x_mm", "z_mm"}, "stud": {"mark"}, "collar": {"mark"}, "specimen": {"mark"}, "test_stud": {"shift_on", "welder"}, "form_check": {"face"}, "deck_core": {"number"}, "survey": {"number"}, "design": {"revision"},
	"batch": {"number"}, "pour": {"number"}, "nonconformance": {"number"}, "review_question": {"number"}, "review_note": {"number"}, "support": {"code"}, "span": {"number"}, "section": {"name"}, "step": {"code"},
	"girder_end": {"name"}, "basis_setting": {"key"},
	"truck": {"code"}, "load_part": {"name"}, "sensor": {"name"}, "recording": {"file_name"}, "strain_verdict": {"result"},
}

// columnWords are the columns whose words do not follow from their names.
var columnWords = map[string]string{
	"x_mm": "x", "z_mm": "z", "t_mm": "thickness", "fy_mpa": "yield strength", "fu_mpa": "tensile strength", "fc_mpa": "UHPC strength", "reaction_n": "factored reaction",
	"stiffener_fy_mpa": "yield strength of the stiffeners", "stiffener_x_mm": "stiffeners from the girder end", "diaphragm_x_mm": "diaphragm from the girder end",
	"stud_fu_mpa": "tensile strength of the studs", "fillet_k_mm": "flange face to web toe", "row_no": "row", "col_no": "column", "side": "end", "span_no": "span", "girder_no": "girder",
	"volume_l": "volume", "raw_mpa": "strength as broken", "strength_mpa": "strength", "load_n": "greatest load", "held": "not counted because", "by_user": "by", "by_name": "by",
	"by_role": "role", "recorded_by": "recorded by", "superseded_by": "superseded", "input_digest": "inputs", "sha256": "picture", "captured_at": "seen or done",
	"humidity_pct": "humidity", "nominal_days": "age", "cast_at": "cast", "broken_at": "broken", "section_id": "section", "support_id": "support", "span_id": "span",
	"from_support_id": "from", "to_support_id": "to", "reviewer_name": "reviewer", "reviewer_role": "role", "bend_deg": "bend", "gap_clock": "gap at clock hour",
	"skew_deg": "skew", "web_deviation_mm": "web out of plumb", "web_detached_mm": "web-to-flange joint lost", "flange_thickness_mm": "flange thickness",
	"shift_on": "shift of", "along_mm": "from the girder end", "across_mm": "from the web", "water_test_min": "water test, minutes", "current_a": "current, A", "time_s": "weld time, s",
	"thicker_reason": "reason for thicker metal", "held_against_roll": "held against roll", "no_access": "no access", "kind": "kind",
}

// unitSuffixes end the name of a column that holds a quantity.
var unitSuffixes = []string{"_mm", "_mpa", "_n", "_c", "_deg", "_l", "_h", "_pct"}

func columnWord(column string) string {
	if w := columnWords[column]; w != "" {
		return w
	}
	for _, suffix := range unitSuffixes {
		if base, ok := strings.CutSuffix(column, suffix); ok {
			column = base
			break
		}
	}
	return strings.ReplaceAll(strings.TrimSuffix(strings.TrimSuffix(column, "_at"), "_id"), "_", " ")
}
