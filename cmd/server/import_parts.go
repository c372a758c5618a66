package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"

	"github.com/google/uuid"

	"endcast/internal/db"
	"endcast/internal/domain/authz"
	"endcast/internal/domain/exchange"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
)

func init() { provided.Import = importFiles }

// importFiles puts tables on record as one entry and prints what was created, or
// prints every cell that cannot be taken, a line each, and writes nothing.
func importFiles(ctx context.Context, j job, o importOrder) error {
	st := j.store()
	p, err := st.Program(ctx, o.Program)
	if err != nil {
		return err
	}
	who, err := importer(ctx, j, p, o.As)
	if err != nil {
		return err
	}
	if o.Units == "" {
		o.Units = units.System(p.Units)
	}
	files, err := filesOf(o.Files)
	if err != nil {
		return err
	}
	plan, err := st.PlanImport(ctx, p.ID, who, files, o.Units)
	if err != nil {
		return refusedImport(j.Out, err)
	}
	done, err := st.Edit(ctx, plan.Entry(uuid.Must(uuid.NewV7()).String(), p.ID, who))
	if err != nil {
		return refusedImport(j.Out, err)
	}
	for _, line := range exchange.Counts(plan.Bridge) {
		fmt.Fprintln(j.Out, line)
	}
	fmt.Fprintf(j.Out, "on record as entry %d of the journal\n", done.Seq)
	return nil
}

// importer is the person in whose name the entry is made: one who may import.
func importer(ctx context.Context, j job, p repair.Program, email string) (repair.Actor, error) {
	people := db.People{Pool: j.Pool}
	u, err := people.Credentials(ctx, email)
	if err != nil {
		return repair.Actor{}, err
	}
	if !u.Active() {
		return repair.Actor{}, fault.New(fault.Forbidden, "the account %s is disabled", u.Email)
	}
	roles, err := people.Roles(ctx, u.ID)
	if err != nil {
		return repair.Actor{}, err
	}
	program, err := uuid.Parse(p.ID)
	if err != nil {
		return repair.Actor{}, err
	}
	if !authz.Can(authz.Person{ID: u.ID, SiteAdmin: u.SiteAdmin, Roles: roles}, program, authz.Import) {
		return repair.Actor{}, fault.New(fault.Forbidden, "%s has no role in %s that may import", u.Email, p.Code)
	}
	return repair.Actor{ID: u.ID.String(), Name: u.Name, Role: roles[program]}, nil
}

// filesOf reads files up to what an import may hold.
func filesOf(names []string) ([]exchange.File, error) {
	var out []exchange.File
	for _, name := range names {
		f, err := os.Open(name)
		if err != nil {
			return nil, err
		}
		data, err := io.ReadAll(io.LimitReader(f, exchange.MaxBytes+1))
		if err := errors.Join(err, f.Close()); err != nil {
			return nil, fmt.Errorf("%s: %w", name, err)
		}
		out = append(out, exchange.File{Name: filepath.Base(name), Data: data})
	}
	return out, nil
}

// refusedImport prints what is wrong, a line each, and returns how much it was.
func refusedImport(w io.Writer, err error) error {
	var cells *exchange.Problems
	var fields *fault.Invalid
	switch {
	case errors.As(err, &cells):
		for _, p := range cells.List {
			fmt.Fprintln(w, p)
		}
		return fmt.Errorf("%d problem(s); nothing was written", cells.Total)
	case errors.As(err, &fields):
		for _, f := range fields.Fields {
			fmt.Fprintf(w, "%s: %s\n", f.Field, f.Reason)
		}
		return fmt.Errorf("%d problem(s); nothing was written", len(fields.Fields))
	}
	return err
}
