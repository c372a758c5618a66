package db

import (
	"cmp"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"endcast/internal/domain/exchange"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
)

// ImportPlan is what files would put on record. Nothing is written by making one.
type ImportPlan struct {
	Bridge exchange.Bridge // as read
	Change repair.ImportBridge
	Ends   []EndRef      // that exist already and get a survey
	Before *repair.Scope // the program with those ends
	After  *repair.Scope // the same, with everything of the files
}

// Entry is the edit that carries the plan out.
func (p *ImportPlan) Entry(id, programID string, actor repair.Actor) Entry {
	return Entry{ID: id, ProgramID: programID, Actor: actor, Ends: p.Ends, Change: p.Change}
}

// PlanImport reads files against what the program has and tries the import out.
// The error is *exchange.Problems for cells that cannot be taken, or the refusal of
// the change itself. Units are those of columns that name none.
func (st *Store) PlanImport(ctx context.Context, programID string, actor repair.Actor, files []exchange.File, sys units.System) (*ImportPlan, error) {
	have, err := st.bridgeScope(ctx, programID, false)
	if err != nil {
		return nil, err
	}
	known := BridgeOf(have)
	now := st.Today(have.Program)
	p := &ImportPlan{}
	p.Bridge, err = exchange.Read(files, exchange.Options{System: sys, Zone: Zone(have.Program), Basis: have.Basis(), Known: &known, Now: now, Steps: have.StepsForChosen()})
	if err != nil {
		return nil, err
	}
	p.Change = repair.ImportBridge{Bridge: BridgeIn(p.Bridge)}
	id := map[string]string{}
	for _, r := range have.Ends {
		id[r.End.Name] = r.End.ID
	}
	var touched []string
	for _, s := range p.Change.Bridge.Surveys {
		if x := id[s.End]; x != "" && !slices.Contains(touched, x) {
			touched = append(touched, x)
			p.Ends = append(p.Ends, EndRef{ID: x})
		}
	}
	if p.Before, err = loadScope(ctx, st.Pool, programID, touched); err != nil {
		return nil, err
	}
	p.After = p.Before.Clone()
	c := repair.Context{Actor: actor, Now: now, Captured: now, NewID: func() string { return uuid.Must(uuid.NewV7()).String() }}
	if err := p.Change.Apply(p.After, c); err != nil {
		return nil, err
	}
	return p, nil
}

// Zone is the clock of a program; UTC where the machine does not know its name.
func Zone(p repair.Program) *time.Location {
	if z, err := time.LoadLocation(p.Timezone); err == nil {
		return z
	}
	return time.UTC
}

// How long the files of a draft are kept, and how many drafts of one person in one
// program.
const (
	draftAge   = 24 * time.Hour
	mostDrafts = 5
)

// ImportDraft is files that were read and found good, and wait for the word to put
// them on record. Its identifier is also that of the entry which does so.
type ImportDraft struct {
	ID     string
	At     time.Time
	SHA256 string // over the files, one after the other
	Files  []exchange.File
	Units  units.System
}

type draftOptions struct {
	Units units.System `json:"units"`
	Files []draftFile  `json:"files"`
}

type draftFile struct {
	Name   string `json:"name"`
	Length int    `json:"length"`
}

// KeepDraft stores a draft and lets go of what is older than a day, whoever's it
// is, and of this person's oldest beyond a few.
func (st *Store) KeepDraft(ctx context.Context, programID, userID string, d ImportDraft) error {
	opt := draftOptions{Units: d.Units}
	var all []byte
	for _, f := range d.Files {
		opt.Files = append(opt.Files, draftFile{f.Name, len(f.Data)})
		all = append(all, f.Data...)
	}
	options, err := json.Marshal(opt)
	if err != nil {
		return fmt.Errorf("keep draft: %w", err)
	}
	now := st.Now().UTC()
	return pgx.BeginFunc(ctx, st.Pool, func(tx pgx.Tx) error {
		b := &pgx.Batch{}
		b.Queue("delete from import_draft where created_at < $1", now.Add(-draftAge))
		b.Queue(`delete from import_draft where id in (select id from import_draft where program_id = $1 and user_id = $2
			order by created_at desc, id desc offset $3)`, programID, userID, mostDrafts-1)
		b.Queue("insert into import_draft (id, program_id, user_id, created_at, sha256, bytes, options) values ($1, $2, $3, $4, $5, $6, $7)",
			d.ID, programID, userID, now, d.SHA256, all, options)
		if err := tx.SendBatch(ctx, b).Close(); err != nil {
			return fmt.Errorf("keep draft: %w", err)
		}
		return nil
	})
}

// Draft returns a draft of a person, or fault.NotFound.
func (st *Store) Draft(ctx context.Context, programID, userID, id string) (ImportDraft, error) {
	gone := fault.New(fault.NotFound, "these files are no longer here: they are kept for a day; send them again")
	if _, err := uuid.Parse(id); err != nil {
		return ImportDraft{}, gone
	}
	d := ImportDraft{ID: id}
	var all []byte
	var opt draftOptions
	err := st.Pool.QueryRow(ctx, "select created_at, sha256, bytes, options from import_draft where id = $1 and program_id = $2 and user_id = $3 and created_at >= $4",
		id, programID, userID, st.Now().UTC().Add(-draftAge)).Scan(&d.At, &d.SHA256, &all, &opt)
	if errors.Is(err, pgx.ErrNoRows) {
		return d, gone
	}
	if err != nil {
		return d, fmt.Errorf("draft: %w", err)
	}
	d.Units = opt.Units
	for _, f := range opt.Files {
		if f.Length < 0 || f.Length > len(all) {
			return d, fmt.Errorf("draft %s: holds fewer bytes than its files", id)
		}
		d.Files = append(d.Files, exchange.File{Name: f.Name, Data: all[:f.Length:f.Length]})
		all = all[f.Length:]
	}
	return d, nil
}

// DropDraft lets go of a draft; one that is gone already is no error.
func (st *Store) DropDraft(ctx context.Context, programID, userID, id string) error {
	if _, err := st.Pool.Exec(ctx, "delete from import_draft where id = $1 and program_id = $2 and user_id = $3", id, programID, userID); err != nil {
		return fmt.Errorf("drop draft: %w", err)
	}
	return nil
}

// JournalHead is an entry of the journal without what it wrote, but counted.
type JournalHead struct {
	Seq         int64
	At          time.Time
	Actor, Kind string
	Hash        []byte
	Rows        []RowCount // by table
}

// RowCount is how many rows of a table an entry wrote.
type RowCount struct {
	Table string
	Count int
}

// Of is the count of one table.
func (h JournalHead) Of(table string) int {
	for _, r := range h.Rows {
		if r.Table == table {
			return r.Count
		}
	}
	return 0
}

// JournalOf returns what an entry of a program became in the journal, or
// fault.NotFound for one that never arrived.
func (st *Store) JournalOf(ctx context.Context, programID, entryID string) (JournalHead, error) {
	var h JournalHead
	none := fault.New(fault.NotFound, "there is no such entry in the journal of this program")
	if _, err := uuid.Parse(entryID); err != nil {
		return h, none
	}
	var raw []byte
	err := st.Pool.QueryRow(ctx, "select seq, at, actor, kind, hash, body from journal where entry_id = $1 and program_id = $2", entryID, programID).
		Scan(&h.Seq, &h.At, &h.Actor, &h.Kind, &h.Hash, &raw)
	if errors.Is(err, pgx.ErrNoRows) {
		return h, none
	}
	if err != nil {
		return h, fmt.Errorf("journal entry: %w", err)
	}
	var body struct {
		Rows []struct {
			Table string `json:"table"`
		} `json:"rows"`
	}
	if err := json.Unmarshal(raw, &body); err != nil {
		return h, fmt.Errorf("journal entry %d: %w", h.Seq, err)
	}
	for _, r := range body.Rows {
		if i := slices.IndexFunc(h.Rows, func(c RowCount) bool { return c.Table == r.Table }); i >= 0 {
			h.Rows[i].Count++
		} else {
			h.Rows = append(h.Rows, RowCount{r.Table, 1})
		}
	}
	slices.SortStableFunc(h.Rows, func(a, b RowCount) int { return cmp.Compare(a.Table, b.Table) })
	return h, nil
}
