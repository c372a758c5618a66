package db

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/demo"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
)

// LoadDemo fills a database that holds no program with the demonstration: its
// accounts and every edit of its story, each through the one door with the time
// of the story. It is all or nothing. Hash turns a password into what is stored.
func (st *Store) LoadDemo(ctx context.Context, hash func(string) (string, error)) error {
	return st.loadDemo(ctx, hash, func(pgx.Tx, demo.Step) error { return nil })
}

// loadDemo is LoadDemo, with a look at the database after each step of the story.
func (st *Store) loadDemo(ctx context.Context, hash func(string) (string, error), look func(pgx.Tx, demo.Step) error) error {
	hashes := map[authz.Role]string{}
	for _, p := range demo.People() {
		h, err := hash(p.Password)
		if err != nil {
			return fmt.Errorf("demonstration: %w", err)
		}
		hashes[p.Role] = h
	}
	err := pgx.BeginFunc(ctx, st.Pool, func(tx pgx.Tx) error {
		// Nobody else may start a program between the look and the end of the load.
		if _, err := tx.Exec(ctx, "lock table program in share row exclusive mode"); err != nil {
			return err
		}
		empty, err := noProgram(ctx, tx)
		if err != nil {
			return err
		}
		if !empty {
			return fault.New(fault.Refused, "the database holds a program already; the demonstration goes into an empty one only")
		}
		people, err := demoPeople(ctx, tx, hashes)
		if err != nil {
			return err
		}
		l := demoLoader{st: st, tx: tx, people: people, all: &repair.Scope{NextPour: 1, NextNonconformance: 1}}
		for _, step := range demo.Story() {
			if err := l.load(ctx, step); err != nil {
				return fmt.Errorf("%s: %w", step.Key, err)
			}
			if err := look(tx, step); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		return fmt.Errorf("demonstration: %w", err)
	}
	_, err = st.Pool.Exec(ctx, "analyze")
	return err
}

// Empty reports whether the database holds no program at all.
func (st *Store) Empty(ctx context.Context) (bool, error) { return noProgram(ctx, st.Pool) }

func noProgram(ctx context.Context, q querier) (empty bool, err error) {
	if err = q.QueryRow(ctx, "select not exists (select from program)").Scan(&empty); err != nil {
		return false, fmt.Errorf("look for programs: %w", err)
	}
	return empty, nil
}

// DemoOnly reports whether the database was made by the loader of the
// demonstration and holds nothing else: only then do accounts of the
// demonstration, whose passwords are known to everybody, open anything.
func (st *Store) DemoOnly(ctx context.Context) (bool, error) {
	var only bool
	err := st.Pool.QueryRow(ctx, "select exists (select from program where is_demo) and not exists (select from program where not is_demo)").Scan(&only)
	if err != nil {
		return false, fmt.Errorf("look for the demonstration: %w", err)
	}
	return only, nil
}

// demoPeople opens the accounts of the demonstration.
func demoPeople(ctx context.Context, tx pgx.Tx, hashes map[authz.Role]string) (map[authz.Role]repair.Actor, error) {
	out := map[authz.Role]repair.Actor{}
	for _, p := range demo.People() {
		a := demo.Actor(p.Role)
		out[p.Role] = a
		_, err := tx.Exec(ctx, "insert into app_user (id, email, name, password_hash, site_admin, demo) values ($1, $2, $3, $4, $5, true)",
			a.ID, p.Email, p.Name, hashes[p.Role], p.Role == authz.Administrator)
		if uniqueViolation(err, "app_user_email_key") {
			return nil, fault.Wrap(fault.Duplicate, err, "there is an account %s already", p.Email)
		}
		if err != nil {
			return nil, fmt.Errorf("open account %s: %w", p.Email, err)
		}
	}
	return out, nil
}

// demoLoader carries the steps of the story through the door in one transaction.
// Nobody else writes meanwhile, so it keeps the record in memory from step to
// step instead of reading it anew for each.
type demoLoader struct {
	st     *Store
	tx     pgx.Tx
	people map[authz.Role]repair.Actor
	all    *repair.Scope
}

func (l *demoLoader) load(ctx context.Context, step demo.Step) error {
	before := demo.Part(l.all, step)
	change, err := step.Make(before)
	if err != nil || change == nil {
		return err
	}
	if !step.AllEnds && len(before.Ends) != len(step.Ends) {
		return fault.New(fault.NotFound, "the demonstration has not all of the ends %v", step.Ends)
	}
	named := map[string]bool{}
	for _, r := range before.Ends {
		named[r.End.ID] = true
	}
	before = demo.Widen(l.all, step, change, before)
	e := Entry{ID: step.ID(), ProgramID: demo.ProgramID(), Actor: l.people[step.By], Captured: step.Captured, At: step.At, AllEnds: step.AllEnds, Change: change}
	ids := make([]string, 0, len(before.Ends))
	for _, r := range before.Ends {
		ids = append(ids, r.End.ID)
		if !step.AllEnds {
			e.Ends = append(e.Ends, EndRef{ID: r.End.ID})
		}
	}
	if len(named) < len(ids) {
		e.beside = map[string]bool{}
		for _, id := range ids {
			e.beside[id] = !named[id]
		}
	}
	if step.Samples != nil {
		if err := l.samples(ctx, step); err != nil {
			return err
		}
	}
	body, err := json.Marshal(change)
	if err != nil {
		return err
	}
	rec, after, err := l.st.carry(ctx, l.tx, e, ids, before, body, requestDigest(e, body))
	if err != nil {
		return fmt.Errorf("%s: %w", change.Kind(), err)
	}
	for _, r := range after.Ends {
		if v, ok := rec.Versions[r.End.ID]; ok && v != r.End.Version {
			r.End.Version, r.End.UpdatedAt = v, stored(step.At)
		}
	}
	after.Blobs = nil
	demo.Join(l.all, after)
	if _, ok := change.(repair.CreateProgram); ok {
		return l.members(ctx)
	}
	return nil
}

// samples stores what a recording was made of, as an import does.
func (l *demoLoader) samples(ctx context.Context, step demo.Step) error {
	x, err := step.Samples()
	if err != nil {
		return err
	}
	w, err := newSampleWriter(l.tx, x.ID, len(x.Rows[0]), x.Rate)
	if err != nil {
		return err
	}
	for i, t := range x.Times {
		if err := w.add(ctx, t, x.Rows[i]); err != nil {
			return err
		}
	}
	if err := w.end(ctx, x.Times[0], x.Times[len(x.Times)-1]); err != nil {
		return err
	}
	if err := keepFound(ctx, l.tx, step.At, x.ID, x.Plan, x.Found); err != nil {
		return err
	}
	return storeRaw(ctx, l.tx, []repair.RawFile{{SHA256: x.SHA256, Open: func() (io.ReadCloser, error) { return io.NopCloser(bytes.NewReader(x.File)), nil }}})
}

func (l *demoLoader) members(ctx context.Context) error {
	for role, a := range l.people {
		if _, err := l.tx.Exec(ctx, "insert into membership (user_id, program_id, role) values ($1, $2, $3)", uuid.MustParse(a.ID), demo.ProgramID(), string(role)); err != nil {
			return fmt.Errorf("members: %w", err)
		}
	}
	return nil
}
