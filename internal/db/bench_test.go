package db_test

import (
	"context"
	"os"
	"testing"

	"github.com/jackc/pgx/v5"
	"github.com/stretchr/testify/require"

	"endcast/internal/db"
	"endcast/internal/db/dbtest"
	"endcast/internal/db/pglocal"
	"endcast/internal/domain/authz"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
	"endcast/migrations"
)

// durable starts a server that keeps every promise about durability, unlike the
// one of the tests: only so does a commit cost what it costs in use.
func durable(b *testing.B) *bundle {
	b.Helper()
	dir, err := os.MkdirTemp("/var/tmp", "endcast-bench-")
	require.NoError(b, err)
	require.NoError(b, os.Chmod(dir, 0o755))
	server, err := pglocal.Start(context.Background(), pglocal.Options{Dir: dir})
	require.NoError(b, err)
	b.Cleanup(func() {
		require.NoError(b, server.Stop(context.Background()))
		require.NoError(b, os.RemoveAll(dir))
	})
	require.NoError(b, db.Migrate(context.Background(), server.DSN(), migrations.FS))
	pool, err := db.Open(context.Background(), server.DSN())
	require.NoError(b, err)
	b.Cleanup(pool.Close)
	return fill(b, db.NewStore(pool))
}

// BenchmarkEdit is one edit request at the store: load the end, decide,
// recompute, write, journal, commit. The survey has 64 readings, of which each
// edit corrects one. Compare with BenchmarkCommitOfOneRow of the same run.
func BenchmarkEdit(b *testing.B) {
	s := durable(b)
	ch := someSurvey(0.4)
	for i := range 44 {
		ch.Readings = append(ch.Readings, repair.ReadingIn{Face: "L", X: units.Length(i) * 15, Z: 500, T: 14})
	}
	_, err := s.do(authz.Inspector, s.end(b, "1N-1"), ch)
	require.NoError(b, err)
	r := s.end(b, "1N-1")
	ed := repair.EditSurvey{SurveyID: r.Surveys[0].ID, Facts: ch.Facts, Readings: ch.Readings}
	i := 0
	b.ResetTimer()
	for b.Loop() {
		i++
		ed.Readings[0].T = units.Length(7 + float64(i%1000)/1000)
		_, err := s.Edit(s.ctx, db.Entry{ID: newID(), ProgramID: s.program, Actor: s.people[authz.Inspector], Ends: []db.EndRef{{ID: r.End.ID}}, Change: ed})
		if err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkCommitOfOneRow is the least that a durable write costs here.
func BenchmarkCommitOfOneRow(b *testing.B) {
	s := durable(b)
	_, err := s.Pool.Exec(s.ctx, "create table one_row (id bigserial primary key, note text)")
	require.NoError(b, err)
	b.ResetTimer()
	for b.Loop() {
		if _, err := s.Pool.Exec(s.ctx, "insert into one_row (note) values ('x')"); err != nil {
			b.Fatal(err)
		}
	}
}

// manyEnds multiplies the ends of the small program to a hundred thousand.
func manyEnds(b *testing.B) *bundle {
	b.Helper()
	s := fill(b, db.NewStore(dbtest.New(b)))
	_, err := s.do(authz.Inspector, s.end(b, "1N-1"), someSurvey(0.4))
	require.NoError(b, err)
	require.NoError(b, pgx.BeginFunc(s.ctx, s.Pool, func(tx pgx.Tx) error {
		for _, sql := range []string{
			"set local statement_timeout = 0",
			`insert into girder_end select (jsonb_populate_record(null::girder_end, to_jsonb(e) ||
				jsonb_build_object('id', gen_random_uuid(), 'name', 'X' || n))).* from girder_end e, generate_series(1, 100000) n where e.name = '1N-1'`,
			`insert into end_state (end_id, program_id, sort_key, name, support_code, section_name, access, step_ord, step_code, step_name, closed, since,
				track, reason, loss_max, demand_n, capacity_new_n, capacity_n, method_version, input_digest)
			select e.id, e.program_id, lpad(substr(e.name, 2), 7, '0'), e.name, 'A1', 'W33X130', 'open', 1 + floor(16 * random())::int, 'CLN', 'Cleaned',
				random() < 0.3, now() - random() * interval '200 days', 'paper', 'review_pending', random(), 400000, 800000, 800000 * random(), '1', ''
			from girder_end e where e.name like 'X%'`,
		} {
			if _, err := tx.Exec(s.ctx, sql); err != nil {
				return err
			}
		}
		return nil
	}))
	_, err = s.Pool.Exec(s.ctx, "analyze")
	require.NoError(b, err)
	return s
}

// BenchmarkListOf100000 is one page of the list of a program with a hundred
// thousand ends, in its orders and narrowed.
func BenchmarkListOf100000(b *testing.B) {
	s := manyEnds(b)
	for _, c := range []struct {
		name  string
		f     db.ListFilter
		order string
		page  int
	}{
		{"first", db.ListFilter{}, "", 1}, {"middle", db.ListFilter{}, "", 500}, {"oldest-open", db.ListFilter{Open: true}, "oldest", 1},
		{"worst", db.ListFilter{}, "ratio", 1}, {"deepest", db.ListFilter{}, "loss", 1}, {"search", db.ListFilter{Query: "X9999"}, "", 1},
	} {
		b.Run(c.name, func(b *testing.B) {
			for b.Loop() {
				if _, err := s.ListEnds(s.ctx, s.program, c.f, c.order, c.page, 100); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
	b.Run("tallies", func(b *testing.B) {
		for b.Loop() {
			if _, _, err := s.Tallies(s.ctx, s.program); err != nil {
				b.Fatal(err)
			}
		}
	})
}
