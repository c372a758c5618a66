package db

import (
	"context"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"
	"github.com/jackc/pgx/v5/pgtype"

	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
)

// querier is what a pool, a connection and a transaction have in common.
type querier interface {
	Query(ctx context.Context, sql string, args ...any) (pgx.Rows, error)
	QueryRow(ctx context.Context, sql string, args ...any) pgx.Row
	Exec(ctx context.Context, sql string, args ...any) (pgconn.CommandTag, error)
	SendBatch(ctx context.Context, b *pgx.Batch) pgx.BatchResults
}

// inUTC makes a connection return times in UTC, so that a row reads the same
// when it is written and when it is read back.
func inUTC(_ context.Context, c *pgx.Conn) error {
	c.TypeMap().RegisterType(&pgtype.Type{Name: "timestamptz", OID: pgtype.TimestamptzOID, Codec: &pgtype.TimestamptzCodec{ScanLocation: time.UTC}})
	return nil
}

// The tables whose rows go through the one door.
var (
	programs        = keep[repair.Program]("program", "id")
	settings        = keep[repair.BasisSetting]("basis_setting", "program_id", "key")
	steps           = keep[repair.StepRow]("step", "id")
	supports        = keep[repair.Support]("support", "id")
	spans           = keep[repair.Span]("span", "id")
	sections        = keep[repair.Section]("section", "id")
	windows         = keep[repair.Window]("access_window", "id")
	ends            = keep[repair.End]("girder_end", "id")
	surveys         = keep[repair.Survey]("survey", "id")
	readings        = keep[repair.Reading]("reading", "id")
	holes           = keep[repair.Hole]("hole", "id")
	designs         = keep[repair.Design]("design", "id")
	studs           = keep[repair.Stud]("stud", "id")
	reviews         = keep[repair.Review]("review", "id")
	reviewNotes     = keep[repair.ReviewNote]("review_note", "id")
	questions       = keep[repair.ReviewQuestion]("review_question", "id")
	answers         = keep[repair.ReviewAnswer]("review_answer", "id")
	stepRecords     = keep[repair.StepRecord]("step_record", "id")
	cleanings       = keep[repair.Cleaning]("cleaning", "id")
	collars         = keep[repair.Collar]("collar", "id")
	inspections     = keep[repair.Inspection]("inspection", "id")
	nonconformances = keep[repair.Nonconformance]("nonconformance", "id")
	photos          = keep[repair.Photo]("photo", "id")
	testStuds       = keep[repair.TestStud]("test_stud", "id")
	formChecks      = keep[repair.FormCheck]("form_check", "id")
	deckCores       = keep[repair.DeckCore]("deck_core", "id")
	pours           = keep[repair.Pour]("pour", "id")
	pourEnds        = keep[repair.PourEnd]("pour_end", "id")
	batches         = keep[repair.Batch]("batch", "id")
	specimens       = keep[repair.Specimen]("specimen", "id")
	states          = keep[repair.State]("end_state", "end_id")
	tallies         = keep[repair.EndTally]("end_tally", "end_id")
	results         = keep[repair.Result]("result", "end_id", "subject")
	outlooks        = keep[repair.Outlook]("outlook", "end_id")
	spanDemands     = keep[repair.SpanDemand]("span_demand", "span_id")
	loadParts       = keep[repair.LoadPart]("load_part", "id")
	endDemands      = keep[repair.EndDemand]("end_demand", "end_id")
	trucks          = keep[repair.Truck]("truck", "id")
	procedures      = keep[repair.Procedure]("procedure_pack", "id")
	assumptions     = keep[repair.Assumptions]("assumption", "program_id")
	mockups         = keep[repair.Mockup]("mockup", "id")
	mockupDecisions = keep[repair.MockupDecision]("mockup_decision", "id")
	specimenPlans   = keep[repair.PlannedSet]("specimen_plan", "id")
	loggerMaps      = keep[repair.LoggerMap]("logger_map", "program_id", "name")
	batchEnds       = keep[repair.BatchEnd]("batch_end", "batch_id", "end_id")
	setReviews      = keep[repair.SetReview]("set_review", "id")
	curingLogs      = keep[repair.CuringLog]("curing_log", "id")
	strengthTests   = keep[repair.StrengthTest]("strength_test", "id")
	gateDecisions   = keep[repair.GateDecision]("gate_decision", "id")
	waivers         = keep[repair.Waiver]("waiver", "id")
	sensors         = keep[repair.Sensor]("sensor", "id")
	recordings      = keep[repair.Recording]("recording", "id")
	strainSetups    = keep[repair.StrainSetup]("strain_setup", "end_id")
	strainVerdicts  = keep[repair.StrainVerdict]("strain_verdict", "id")
	windowKinds     = keep[repair.WindowKind]("window_kind", "id")
	confirmations   = keep[repair.WindowConfirmation]("window_confirmation", "id")
	crews           = keep[repair.Crew]("crew", "id")
	stepEfforts     = keep[repair.StepEffort]("step_effort", "program_id", "step_id")
	shiftStock      = keep[repair.ShiftStock]("shift_stock", "program_id", "name")
	windowChoices   = keep[repair.WindowChoice]("window_choice", "id")
	promises        = keep[repair.Promise]("promise", "id")
	exclusions      = keep[repair.WindowExclusion]("window_exclusion", "id")
	documents       = keep[repair.Document]("document", "id")
	signatures      = keep[repair.Signature]("signature", "id")
	stepTicks       = keep[repair.StepTick]("step_tick", "id")
	releases        = keep[repair.ReleaseDecision]("release_decision", "id")
)

const ofProgram = "program_id = $1::uuid"
const ofEnds = "end_id = any($1::text[]::uuid[])"
const ofTheirSpans = "span_id in (select span_id from girder_end where id = any($1::text[]::uuid[]))"

// theirPours are the castings that served ends, and those of the program's mock-ups,
// which serve none.
const theirPours = "(select pour_id from pour_end where end_id = any($1::text[]::uuid[]) union all select id from pour where program_id = $2::uuid and mockup_id is not null)"
const ofPours = "pour_id in " + theirPours

// loadScope reads the program and the named ends with all that belongs to them,
// in one round trip.
func loadScope(ctx context.Context, q querier, programID string, endIDs []string) (*repair.Scope, error) {
	s := &repair.Scope{}
	var progs []repair.Program
	flat := endRows{}
	b := &pgx.Batch{}
	programs.queue(b, &progs, "id = $1::uuid", programID)
	settings.queue(b, &s.Settings, ofProgram, programID)
	steps.queue(b, &s.Steps, ofProgram, programID)
	supports.queue(b, &s.Supports, ofProgram, programID)
	spans.queue(b, &s.Spans, ofProgram, programID)
	sections.queue(b, &s.Sections, ofProgram, programID)
	windows.queue(b, &s.Windows, ofProgram, programID)
	trucks.queue(b, &s.Trucks, ofProgram, programID)
	procedures.queue(b, &s.Procedures, ofProgram, programID)
	assumptions.queue(b, &s.Assumptions, ofProgram, programID)
	mockups.queue(b, &s.Mockups, ofProgram, programID)
	mockupDecisions.queue(b, &s.MockupDecisions, ofProgram, programID)
	specimenPlans.queue(b, &s.SpecimenPlan, ofProgram, programID)
	loggerMaps.queue(b, &s.LoggerMaps, ofProgram, programID)
	b.Queue(`select (select coalesce(max(number), 0) + 1 from pour where program_id = $1::uuid),
		(select coalesce(max(number), 0) + 1 from nonconformance where program_id = $1::uuid)`, programID).QueryRow(func(row pgx.Row) error {
		return row.Scan(&s.NextPour, &s.NextNonconformance)
	})
	if len(endIDs) > 0 {
		flat.queue(b, endIDs)
		spanDemands.queue(b, &s.SpanDemands, ofTheirSpans, endIDs)
		loadParts.queue(b, &s.LoadParts, ofTheirSpans, endIDs)
	} else {
		spanDemands.queue(b, &s.SpanDemands, ofProgram, programID)
		loadParts.queue(b, &s.LoadParts, ofProgram, programID)
	}
	queueCastings(b, s, programID, endIDs)
	if err := q.SendBatch(ctx, b).Close(); err != nil {
		return nil, fmt.Errorf("load record: %w", err)
	}
	if len(progs) != 1 {
		return nil, fault.New(fault.NotFound, "there is no such program")
	}
	s.Program = progs[0]
	s.Ends = flat.records()
	if len(s.Ends) != len(endIDs) {
		return nil, fault.New(fault.NotFound, "there is no such girder end in this program")
	}
	for _, r := range s.Ends {
		if r.End.ProgramID != programID {
			return nil, fault.New(fault.NotFound, "there is no such girder end in this program")
		}
	}
	return s, nil
}

// queueCastings adds what belongs to the castings of the ends and of mock-ups.
func queueCastings(b *pgx.Batch, s *repair.Scope, programID string, endIDs []string) {
	if endIDs == nil {
		endIDs = []string{}
	}
	pours.queue(b, &s.Pours, "id in "+theirPours, endIDs, programID)
	pourEnds.queue(b, &s.PourEnds, ofPours, endIDs, programID)
	batches.queue(b, &s.Batches, ofPours, endIDs, programID)
	batchEnds.queue(b, &s.BatchEnds, "batch_id in (select id from batch where "+ofPours+")", endIDs, programID)
	specimens.queue(b, &s.Specimens, ofPours, endIDs, programID)
	setReviews.queue(b, &s.SetReviews, ofPours, endIDs, programID)
	curingLogs.queue(b, &s.CuringLogs, ofPours, endIDs, programID)
}

// endRows holds the rows of several ends before they are sorted to their ends.
type endRows struct {
	ends []repair.End
	r    repair.Record
}

func (f *endRows) queue(b *pgx.Batch, ids []string) {
	ends.queue(b, &f.ends, "id = any($1::text[]::uuid[])", ids)
	surveys.queue(b, &f.r.Surveys, ofEnds, ids)
	readings.queue(b, &f.r.Readings, ofEnds, ids)
	holes.queue(b, &f.r.Holes, ofEnds, ids)
	designs.queue(b, &f.r.Designs, ofEnds, ids)
	studs.queue(b, &f.r.Studs, ofEnds, ids)
	reviews.queue(b, &f.r.Reviews, ofEnds, ids)
	reviewNotes.queue(b, &f.r.ReviewNotes, ofEnds, ids)
	questions.queue(b, &f.r.Questions, ofEnds, ids)
	answers.queue(b, &f.r.Answers, ofEnds, ids)
	stepRecords.queue(b, &f.r.StepRecords, ofEnds, ids)
	cleanings.queue(b, &f.r.Cleanings, ofEnds, ids)
	collars.queue(b, &f.r.Collars, ofEnds, ids)
	inspections.queue(b, &f.r.Inspections, ofEnds, ids)
	nonconformances.queue(b, &f.r.Nonconformances, ofEnds, ids)
	photos.queue(b, &f.r.Photos, ofEnds, ids)
	testStuds.queue(b, &f.r.TestStuds, ofEnds, ids)
	formChecks.queue(b, &f.r.FormChecks, ofEnds, ids)
	deckCores.queue(b, &f.r.DeckCores, ofEnds, ids)
	states.queue(b, &f.r.State, ofEnds, ids)
	results.queue(b, &f.r.Results, ofEnds, ids)
	gateDecisions.queue(b, &f.r.Gates, ofEnds, ids)
	waivers.queue(b, &f.r.Waivers, ofEnds, ids)
	sensors.queue(b, &f.r.Sensors, ofEnds, ids)
	recordings.queue(b, &f.r.Recordings, ofEnds, ids)
	strainSetups.queue(b, &f.r.StrainSetup, ofEnds, ids)
	strainVerdicts.queue(b, &f.r.Verdicts, ofEnds, ids)
	stepTicks.queue(b, &f.r.Ticks, ofEnds, ids)
	releases.queue(b, &f.r.Releases, ofEnds, ids)
	endDemands.queue(b, &f.r.EndDemands, ofEnds, ids)
	outlooks.queue(b, &f.r.Outlook, ofEnds, ids)
	tallies.queue(b, &f.r.Tally, ofEnds, ids)
}

func (f *endRows) records() []*repair.Record {
	out := make([]*repair.Record, len(f.ends))
	at := make(map[string]*repair.Record, len(f.ends))
	for i, e := range f.ends {
		out[i] = &repair.Record{End: e}
		at[e.ID] = out[i]
	}
	sortTo(at, f.r.Surveys, func(x *repair.Survey) string { return x.EndID }, func(r *repair.Record) *[]repair.Survey { return &r.Surveys })
	sortTo(at, f.r.Readings, func(x *repair.Reading) string { return x.EndID }, func(r *repair.Record) *[]repair.Reading { return &r.Readings })
	sortTo(at, f.r.Holes, func(x *repair.Hole) string { return x.EndID }, func(r *repair.Record) *[]repair.Hole { return &r.Holes })
	sortTo(at, f.r.Designs, func(x *repair.Design) string { return x.EndID }, func(r *repair.Record) *[]repair.Design { return &r.Designs })
	sortTo(at, f.r.Studs, func(x *repair.Stud) string { return x.EndID }, func(r *repair.Record) *[]repair.Stud { return &r.Studs })
	sortTo(at, f.r.Reviews, func(x *repair.Review) string { return x.EndID }, func(r *repair.Record) *[]repair.Review { return &r.Reviews })
	sortTo(at, f.r.ReviewNotes, func(x *repair.ReviewNote) string { return x.EndID }, func(r *repair.Record) *[]repair.ReviewNote { return &r.ReviewNotes })
	sortTo(at, f.r.Questions, func(x *repair.ReviewQuestion) string { return x.EndID }, func(r *repair.Record) *[]repair.ReviewQuestion { return &r.Questions })
	sortTo(at, f.r.Answers, func(x *repair.ReviewAnswer) string { return x.EndID }, func(r *repair.Record) *[]repair.ReviewAnswer { return &r.Answers })
	sortTo(at, f.r.StepRecords, func(x *repair.StepRecord) string { return x.EndID }, func(r *repair.Record) *[]repair.StepRecord { return &r.StepRecords })
	sortTo(at, f.r.Cleanings, func(x *repair.Cleaning) string { return x.EndID }, func(r *repair.Record) *[]repair.Cleaning { return &r.Cleanings })
	sortTo(at, f.r.Collars, func(x *repair.Collar) string { return x.EndID }, func(r *repair.Record) *[]repair.Collar { return &r.Collars })
	sortTo(at, f.r.Inspections, func(x *repair.Inspection) string { return x.EndID }, func(r *repair.Record) *[]repair.Inspection { return &r.Inspections })
	sortTo(at, f.r.Nonconformances, func(x *repair.Nonconformance) string { return x.EndID }, func(r *repair.Record) *[]repair.Nonconformance { return &r.Nonconformances })
	sortTo(at, f.r.Photos, func(x *repair.Photo) string { return x.EndID }, func(r *repair.Record) *[]repair.Photo { return &r.Photos })
	sortTo(at, f.r.TestStuds, func(x *repair.TestStud) string { return x.EndID }, func(r *repair.Record) *[]repair.TestStud { return &r.TestStuds })
	sortTo(at, f.r.FormChecks, func(x *repair.FormCheck) string { return x.EndID }, func(r *repair.Record) *[]repair.FormCheck { return &r.FormChecks })
	sortTo(at, f.r.DeckCores, func(x *repair.DeckCore) string { return x.EndID }, func(r *repair.Record) *[]repair.DeckCore { return &r.DeckCores })
	sortTo(at, f.r.State, func(x *repair.State) string { return x.EndID }, func(r *repair.Record) *[]repair.State { return &r.State })
	sortTo(at, f.r.Results, func(x *repair.Result) string { return x.EndID }, func(r *repair.Record) *[]repair.Result { return &r.Results })
	sortTo(at, f.r.Gates, func(x *repair.GateDecision) string { return x.EndID }, func(r *repair.Record) *[]repair.GateDecision { return &r.Gates })
	sortTo(at, f.r.Waivers, func(x *repair.Waiver) string { return x.EndID }, func(r *repair.Record) *[]repair.Waiver { return &r.Waivers })
	sortTo(at, f.r.Sensors, func(x *repair.Sensor) string { return x.EndID }, func(r *repair.Record) *[]repair.Sensor { return &r.Sensors })
	sortTo(at, f.r.Recordings, func(x *repair.Recording) string { return x.EndID }, func(r *repair.Record) *[]repair.Recording { return &r.Recordings })
	sortTo(at, f.r.StrainSetup, func(x *repair.StrainSetup) string { return x.EndID }, func(r *repair.Record) *[]repair.StrainSetup { return &r.StrainSetup })
	sortTo(at, f.r.Verdicts, func(x *repair.StrainVerdict) string { return x.EndID }, func(r *repair.Record) *[]repair.StrainVerdict { return &r.Verdicts })
	sortTo(at, f.r.Ticks, func(x *repair.StepTick) string { return x.EndID }, func(r *repair.Record) *[]repair.StepTick { return &r.Ticks })
	sortTo(at, f.r.Releases, func(x *repair.ReleaseDecision) string { return x.EndID }, func(r *repair.Record) *[]repair.ReleaseDecision { return &r.Releases })
	sortTo(at, f.r.EndDemands, func(x *repair.EndDemand) string { return x.EndID }, func(r *repair.Record) *[]repair.EndDemand { return &r.EndDemands })
	sortTo(at, f.r.Outlook, func(x *repair.Outlook) string { return x.EndID }, func(r *repair.Record) *[]repair.Outlook { return &r.Outlook })
	sortTo(at, f.r.Tally, func(x *repair.EndTally) string { return x.EndID }, func(r *repair.Record) *[]repair.EndTally { return &r.Tally })
	return out
}

func sortTo[T any](at map[string]*repair.Record, rows []T, end func(*T) string, list func(*repair.Record) *[]T) {
	for i := range rows {
		if r := at[end(&rows[i])]; r != nil {
			l := list(r)
			*l = append(*l, rows[i])
		}
	}
}

// diffScope queues every write that turns before into after.
func diffScope(b *pgx.Batch, before, after *repair.Scope) ([]rowChange, error) {
	var all []rowChange
	var firstErr error
	add := func(c []rowChange, err error) {
		all = append(all, c...)
		if firstErr == nil {
			firstErr = err
		}
	}
	var was []repair.Program
	if before.Program.ID != "" {
		was = []repair.Program{before.Program}
	}
	add(programs.diff(b, was, []repair.Program{after.Program}))
	add(settings.diff(b, before.Settings, after.Settings))
	add(steps.diff(b, before.Steps, after.Steps))
	add(supports.diff(b, before.Supports, after.Supports))
	add(spans.diff(b, before.Spans, after.Spans))
	add(sections.diff(b, before.Sections, after.Sections))
	add(windows.diff(b, before.Windows, after.Windows))
	add(spanDemands.diff(b, before.SpanDemands, after.SpanDemands))
	add(loadParts.diff(b, before.LoadParts, after.LoadParts))
	add(trucks.diff(b, before.Trucks, after.Trucks))
	add(procedures.diff(b, before.Procedures, after.Procedures))
	add(assumptions.diff(b, before.Assumptions, after.Assumptions))
	add(mockups.diff(b, before.Mockups, after.Mockups))
	add(mockupDecisions.diff(b, before.MockupDecisions, after.MockupDecisions))
	add(specimenPlans.diff(b, before.SpecimenPlan, after.SpecimenPlan))
	add(loggerMaps.diff(b, before.LoggerMaps, after.LoggerMaps))
	addShifts(add, b, before.Shifts, after.Shifts)
	old := make(map[string]*repair.Record, len(before.Ends))
	for _, r := range before.Ends {
		old[r.End.ID] = r
	}
	for _, r := range after.Ends {
		o := old[r.End.ID]
		if o == nil {
			o = &repair.Record{}
			add(ends.diff(b, nil, []repair.End{r.End}))
		} else {
			add(ends.diff(b, []repair.End{o.End}, []repair.End{r.End}))
		}
		add(endDemands.diff(b, o.EndDemands, r.EndDemands))
		add(surveys.diff(b, o.Surveys, r.Surveys))
		add(readings.diff(b, o.Readings, r.Readings))
		add(holes.diff(b, o.Holes, r.Holes))
		add(designs.diff(b, o.Designs, r.Designs))
		add(studs.diff(b, o.Studs, r.Studs))
		add(reviews.diff(b, o.Reviews, r.Reviews))
		add(reviewNotes.diff(b, o.ReviewNotes, r.ReviewNotes))
		add(questions.diff(b, o.Questions, r.Questions))
		add(answers.diff(b, o.Answers, r.Answers))
		add(stepRecords.diff(b, o.StepRecords, r.StepRecords))
		add(cleanings.diff(b, o.Cleanings, r.Cleanings))
		add(collars.diff(b, o.Collars, r.Collars))
		add(inspections.diff(b, o.Inspections, r.Inspections))
		add(nonconformances.diff(b, o.Nonconformances, r.Nonconformances))
		add(testStuds.diff(b, o.TestStuds, r.TestStuds))
		add(formChecks.diff(b, o.FormChecks, r.FormChecks))
		add(deckCores.diff(b, o.DeckCores, r.DeckCores))
		add(photos.diff(b, o.Photos, r.Photos))
		add(gateDecisions.diff(b, o.Gates, r.Gates))
		add(waivers.diff(b, o.Waivers, r.Waivers))
		add(sensors.diff(b, o.Sensors, r.Sensors))
		add(recordings.diff(b, o.Recordings, r.Recordings))
		add(strainSetups.diff(b, o.StrainSetup, r.StrainSetup))
		add(strainVerdicts.diff(b, o.Verdicts, r.Verdicts))
		add(stepTicks.diff(b, o.Ticks, r.Ticks))
		add(releases.diff(b, o.Releases, r.Releases))
	}
	add(pours.diff(b, before.Pours, after.Pours))
	add(pourEnds.diff(b, before.PourEnds, after.PourEnds))
	add(batches.diff(b, before.Batches, after.Batches))
	add(batchEnds.diff(b, before.BatchEnds, after.BatchEnds))
	add(specimens.diff(b, before.Specimens, after.Specimens))
	add(setReviews.diff(b, before.SetReviews, after.SetReviews))
	add(strengthTests.diff(b, before.Tests, after.Tests))
	add(curingLogs.diff(b, before.CuringLogs, after.CuringLogs))
	add(documents.diff(b, before.Documents, after.Documents))
	add(signatures.diff(b, before.Signatures, after.Signatures))
	return all, firstErr
}

// diffDerived queues the derived rows. They are not journaled: they follow from
// what is.
func diffDerived(b *pgx.Batch, before, after *repair.Scope) error {
	old := make(map[string]*repair.Record, len(before.Ends))
	for _, r := range before.Ends {
		old[r.End.ID] = r
	}
	for _, r := range after.Ends {
		o := old[r.End.ID]
		if o == nil {
			o = &repair.Record{}
		}
		if _, err := states.diff(b, o.State, r.State); err != nil {
			return err
		}
		keepResults := map[string]bool{}
		for _, x := range r.Results {
			keepResults[x.Subject] = true
		}
		var stay []repair.Result
		for _, x := range o.Results {
			if keepResults[x.Subject] {
				stay = append(stay, x)
			} else {
				b.Queue("delete from result where end_id = $1 and subject = $2", x.EndID, x.Subject)
			}
		}
		if _, err := results.diff(b, stay, r.Results); err != nil {
			return err
		}
		if _, err := outlooks.diff(b, o.Outlook, r.Outlook); err != nil {
			return err
		}
		if _, err := tallies.diff(b, o.Tally, r.Tally); err != nil {
			return err
		}
	}
	return nil
}
