package db

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"endcast/internal/domain/fault"
	"endcast/internal/domain/logfile"
	"endcast/internal/domain/repair"
)

// StrainAsk is what a person asked to have read: the recording as far as it is known,
// how its file is read, and who asked.
type StrainAsk struct {
	Entry    string              `json:"entry"`
	Actor    repair.Actor        `json:"actor"`
	Captured time.Time           `json:"captured"`
	Change   repair.RecordStrain `json:"change"`
	Map      logfile.Map         `json:"map"`
	Allow    []logfile.Kind      `json:"allow"`
	Unpacked int64               `json:"unpacked"` // most bytes that the file may unpack to
}

// StrainJob is work on a recording that takes longer than a request.
type StrainJob struct {
	ID, ProgramID, EndID, UserID string
	Kind, State                  string
	DraftID                      *string
	RecordingID                  string
	Ask                          []byte
	Rows, Bytes, Total           int64
	Message                      string
	CreatedAt                    time.Time
	StartedAt, EndedAt           *time.Time
}

// Open reports whether the work is not over.
func (j StrainJob) Open() bool { return j.State == JobWaiting || j.State == JobRunning }

// States of work.
const (
	JobWaiting   = "waiting"
	JobRunning   = "running"
	JobDone      = "done"
	JobFailed    = "failed"
	JobCancelled = "cancelled"
)

const jobColumns = `select id::text, program_id::text, end_id::text, user_id::text, kind, state, draft_id::text, recording_id::text, ask, rows_read, bytes_read, bytes_total, message,
	created_at, started_at, ended_at from strain_job `

// QueueImport asks for a draft to be read. Asked twice under one entry, it is read once.
func (st *Store) QueueImport(ctx context.Context, programID, userID string, d LoggerDraft, ask StrainAsk) (string, error) {
	id, err := uuid.Parse(ask.Entry)
	if err != nil {
		return "", fault.New(fault.Malformed, "the entry has no identifier; open the page again")
	}
	job := uuid.NewSHA1(id, []byte("strain import")).String()
	ask.Change.ID = uuid.NewSHA1(id, []byte("recording")).String()
	body, err := json.Marshal(ask)
	if err != nil {
		return "", fmt.Errorf("queue import: %w", err)
	}
	_, err = st.Pool.Exec(ctx, `insert into strain_job (id, program_id, end_id, user_id, kind, state, draft_id, recording_id, ask, bytes_total, created_at)
		values ($1, $2, $3, $4, 'import', 'waiting', $5, $6, $7, $8, $9) on conflict (id) do nothing`, job, programID, d.EndID, userID, d.ID, ask.Change.ID, body, d.Size, st.Now().UTC())
	if err != nil {
		return "", fmt.Errorf("queue import: %w", err)
	}
	return job, nil
}

// QueueFind asks for the passages of recordings to be found anew; one that waits for it
// already is not asked for again.
func (st *Store) QueueFind(ctx context.Context, programID, userID, endID string, list []repair.Recording) error {
	b := &pgx.Batch{}
	for _, x := range list {
		b.Queue(`insert into strain_job (id, program_id, end_id, user_id, kind, state, recording_id, ask, bytes_total, created_at)
			select $1, $2, $3, $4, 'find', 'waiting', $5::uuid, '{}', 0, $6
			where not exists (select from strain_job where recording_id = $5::uuid and kind = 'find' and state in ('waiting', 'running'))`,
			uuid.Must(uuid.NewV7()).String(), programID, endID, userID, x.ID, st.Now().UTC())
	}
	if err := st.Pool.SendBatch(ctx, b).Close(); err != nil {
		return fmt.Errorf("queue search: %w", err)
	}
	return nil
}

// StrainJob returns work at an end, or fault.NotFound.
func (st *Store) StrainJob(ctx context.Context, endID, id string) (StrainJob, error) {
	rows, err := st.Pool.Query(ctx, jobColumns+"where end_id = $1 and id::text = $2", endID, id)
	if err != nil {
		return StrainJob{}, fmt.Errorf("strain job: %w", err)
	}
	j, err := pgx.CollectOneRow(rows, pgx.RowToStructByPos[StrainJob])
	if errors.Is(err, pgx.ErrNoRows) {
		return j, fault.New(fault.NotFound, "there is no such reading of a file at this end")
	}
	return j, err
}

// StrainJobs lists the readings of files at an end that are under way or ended without
// a recording, newest first.
func (st *Store) StrainJobs(ctx context.Context, endID string) ([]StrainJob, error) {
	rows, err := st.Pool.Query(ctx, jobColumns+`where end_id = $1 and (kind = 'import' and state <> 'done' or state in ('waiting', 'running', 'failed')) and created_at > $2 order by created_at desc, id desc limit 20`,
		endID, st.Now().UTC().Add(-14*24*time.Hour))
	if err != nil {
		return nil, fmt.Errorf("strain jobs: %w", err)
	}
	return pgx.CollectRows(rows, pgx.RowToStructByPos[StrainJob])
}

// CancelStrainJob stops work at an end that is not over. What was stored of it goes
// when the work notices; nothing of it was on record.
func (st *Store) CancelStrainJob(ctx context.Context, endID, id string) error {
	tag, err := st.Pool.Exec(ctx, "update strain_job set state = 'cancelled', ended_at = $3 where end_id = $1 and id::text = $2 and state in ('waiting', 'running')", endID, id, st.Now().UTC())
	if err != nil {
		return fmt.Errorf("cancel: %w", err)
	}
	if tag.RowsAffected() == 0 {
		return fault.New(fault.Refused, "the file is not being read any more")
	}
	return nil
}

// strainLock is held by the one server that works; the others leave the work to it.
const strainLock = 0x656e64636173746a

// WorkStrain does what waits, one after the other, and returns when nothing does. Work
// that a server left behind when it ended goes on at its last mark. It does nothing while another
// server works.
func (st *Store) WorkStrain(ctx context.Context) error {
	conn, err := st.Pool.Acquire(ctx)
	if err != nil {
		return fmt.Errorf("strain work: %w", err)
	}
	defer conn.Release()
	var mine bool
	if err := conn.QueryRow(ctx, "select pg_try_advisory_lock($1)", int64(strainLock)).Scan(&mine); err != nil || !mine {
		return err
	}
	defer func() {
		_, _ = conn.Exec(context.WithoutCancel(ctx), "select pg_advisory_unlock($1)", int64(strainLock))
	}()
	if _, err := conn.Exec(ctx, "update strain_job set state = 'waiting' where state = 'running'"); err != nil {
		return fmt.Errorf("strain work: %w", err)
	}
	if err := st.dropCancelled(ctx); err != nil {
		return err
	}
	for {
		rows, err := conn.Query(ctx, jobColumns+"where state = 'waiting' order by created_at, id limit 1")
		if err != nil {
			return fmt.Errorf("strain work: %w", err)
		}
		j, err := pgx.CollectOneRow(rows, pgx.RowToStructByPos[StrainJob])
		if errors.Is(err, pgx.ErrNoRows) {
			return nil
		}
		if err != nil {
			return fmt.Errorf("strain work: %w", err)
		}
		if err := st.workOn(ctx, j); err != nil {
			return err
		}
	}
}

// dropCancelled lets go of what is left of readings that were cancelled while no server
// worked.
func (st *Store) dropCancelled(ctx context.Context) error {
	rows, err := st.Pool.Query(ctx, `select recording_id::text from strain_job j where kind = 'import' and state = 'cancelled'
		and exists (select from sample_block b where b.recording_id = j.recording_id) and not exists (select from recording r where r.id = j.recording_id)`)
	if err != nil {
		return fmt.Errorf("strain work: %w", err)
	}
	left, err := pgx.CollectRows(rows, pgx.RowTo[string])
	if err != nil {
		return fmt.Errorf("strain work: %w", err)
	}
	for _, id := range left {
		if err := st.dropSamples(ctx, id); err != nil {
			return err
		}
	}
	return nil
}

// errCancelled ends work that a person cancelled.
var errCancelled = errors.New("cancelled")

// workOn carries one piece of work to its end. Only a failure of the machine is
// returned: what is wrong with a file is told in the work's message.
func (st *Store) workOn(ctx context.Context, j StrainJob) error {
	tag, err := st.Pool.Exec(ctx, "update strain_job set state = 'running', started_at = $2, message = '' where id = $1 and state = 'waiting'", j.ID, st.Now().UTC())
	if err != nil || tag.RowsAffected() == 0 {
		return err
	}
	if j.Kind == "import" {
		err = st.importStrain(ctx, j)
	} else {
		err = st.findAgain(ctx, j)
	}
	if ctx.Err() != nil {
		return ctx.Err() // it stays running and goes on at the next start
	}
	state, message := JobDone, ""
	switch {
	case errors.Is(err, errCancelled):
		return nil
	case err != nil:
		state, message = JobFailed, fault.Message(err)
		var p *logfile.Problem
		if errors.As(err, &p) {
			message = p.Error()
		}
		var invalid *fault.Invalid
		if errors.As(err, &invalid) {
			message = ""
			for _, f := range invalid.Fields {
				if message != "" {
					message += "; "
				}
				message += f.Reason
			}
		}
	}
	_, ended := st.Pool.Exec(ctx, "update strain_job set state = $2, message = $3, ended_at = $4 where id = $1 and state = 'running'", j.ID, state, message, st.Now().UTC())
	if err != nil && fault.KindOf(err) == fault.Internal {
		return errors.Join(err, ended)
	}
	return ended
}

// told says how far work is. It returns errCancelled when a person cancelled it.
func (st *Store) told(ctx context.Context, j StrainJob, rows, bytes int64) error {
	tag, err := st.Pool.Exec(ctx, "update strain_job set rows_read = $2, bytes_read = $3 where id = $1 and state = 'running'", j.ID, rows, bytes)
	if err != nil {
		return fmt.Errorf("strain work: %w", err)
	}
	if tag.RowsAffected() == 0 {
		return errCancelled
	}
	return nil
}
