package db

import (
	"context"
	"encoding/json"
	"fmt"

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
		l := demoLoader{st: st, tx: tx, people: people, ends: map[string]string{}}
		for _, step := range demo.Story() {
			if err := l.load(ctx, step); err != nil {
				return fmt.Errorf("%s: %w", step.Key, err)
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
type demoLoader struct {
	st     *Store
	tx     pgx.Tx
	people map[authz.Role]repair.Actor
	ends   map[string]string // identifiers by name
	frame  *repair.Scope     // the program without its ends
}

func (l *demoLoader) load(ctx context.Context, step demo.Step) error {
	e := Entry{ID: step.ID(), ProgramID: demo.ProgramID(), Actor: l.people[step.By], Captured: step.Captured, At: step.At, AllEnds: step.AllEnds}
	var ids []string
	for _, name := range step.Ends {
		id, ok := l.ends[name]
		if !ok {
			return fault.New(fault.NotFound, "the demonstration has no end %s", name)
		}
		ids = append(ids, id)
		e.Ends = append(e.Ends, EndRef{ID: id})
	}
	scope, err := l.scope(ctx, step, ids)
	if err != nil {
		return err
	}
	if e.Change, err = step.Make(scope); err != nil || e.Change == nil {
		return err
	}
	change, err := json.Marshal(e.Change)
	if err != nil {
		return err
	}
	if _, err := l.st.edit(ctx, l.tx, e, change, requestDigest(e, change)); err != nil {
		return fmt.Errorf("%s: %w", e.Change.Kind(), err)
	}
	switch e.Change.(type) {
	case repair.CreateProgram:
		return l.members(ctx)
	case repair.ImportBridge:
		return l.learnEnds(ctx)
	}
	return nil
}

// scope is what the change of a step is made from.
func (l *demoLoader) scope(ctx context.Context, step demo.Step, ids []string) (*repair.Scope, error) {
	if step.Reads == demo.Record {
		return loadScope(ctx, l.tx, demo.ProgramID(), ids)
	}
	if step.Reads == demo.Frame {
		if l.frame == nil || step.AllEnds {
			f, err := loadScope(ctx, l.tx, demo.ProgramID(), nil)
			if err != nil {
				return nil, err
			}
			l.frame = f
		}
		return l.frame, nil
	}
	return nil, nil
}

func (l *demoLoader) members(ctx context.Context) error {
	for role, a := range l.people {
		if _, err := l.tx.Exec(ctx, "insert into membership (user_id, program_id, role) values ($1, $2, $3)", uuid.MustParse(a.ID), demo.ProgramID(), string(role)); err != nil {
			return fmt.Errorf("members: %w", err)
		}
	}
	return nil
}

func (l *demoLoader) learnEnds(ctx context.Context) error {
	rows, err := l.tx.Query(ctx, "select name, id::text from girder_end where program_id = $1", demo.ProgramID())
	if err != nil {
		return fmt.Errorf("ends: %w", err)
	}
	var name, id string
	_, err = pgx.ForEachRow(rows, []any{&name, &id}, func() error {
		l.ends[name] = id
		return nil
	})
	return err
}
