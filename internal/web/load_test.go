//go:build load

package web_test

import (
	"context"
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"slices"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"endcast/internal/db"
	"endcast/internal/domain/authz"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
)

// TestLoad measures and prints; it asserts only that nothing fails. A program of
// a hundred thousand ends is read by many and written by some for a while, over
// HTTP on this machine.
func TestLoad(t *testing.T) {
	p := newTestProgram(t)
	p.Do(authz.Inspector, "1N-1", asFound(0.5))
	for _, sql := range []string{
		`insert into girder_end select (jsonb_populate_record(null::girder_end, to_jsonb(e) ||
			jsonb_build_object('id', gen_random_uuid(), 'name', 'X' || n))).* from girder_end e, generate_series(1, 100000) n where e.name = '1N-1'`,
		`insert into end_state (end_id, program_id, sort_key, name, support_code, section_name, access, step_ord, step_code, step_name, closed, since,
			track, reason, loss_max, demand_n, capacity_new_n, capacity_n, method_version, input_digest)
		select e.id, e.program_id, lpad(substr(e.name, 2), 7, '0'), e.name, 'A1', 'W33X130', 'open', 1 + floor(16 * random())::int, 'CLN', 'Cleaned',
			random() < 0.3, now() - random() * interval '200 days', 'paper', 'review_pending', random(), 400000, 800000, 800000 * random(), '1', ''
		from girder_end e where e.name like 'X%'`,
		"analyze",
	} {
		tx, err := p.Pool.Begin(t.Context())
		require.NoError(t, err)
		_, err = tx.Exec(t.Context(), "set local statement_timeout = 0")
		require.NoError(t, err)
		_, err = tx.Exec(t.Context(), sql)
		require.NoError(t, err)
		require.NoError(t, tx.Commit(t.Context()))
	}
	site := httptest.NewServer(p.Handler)
	defer site.Close()
	cookies := p.Role(authz.Manager).Cookies()
	for _, c := range []struct {
		name    string
		path    func(i int) string
		clients int
	}{
		{"list, first page", func(int) string { return p.Path("ends") }, 4},
		{"list, longest waiting", func(int) string { return p.Path("ends") + "?show=open&order=oldest" }, 4},
		{"list, search", func(i int) string { return fmt.Sprintf("%s?q=X%d", p.Path("ends"), 1000+i%9000) }, 4},
		{"page of an end", func(int) string { return p.Path("ends", "1N-1") }, 4},
		{"work", func(int) string { return p.Path("work") }, 2},
		{"bridge", func(int) string { return p.Path() }, 2},
	} {
		report(t, c.name, drive(t, c.clients, 3*time.Second, func(i int) error {
			r, err := http.NewRequest(http.MethodGet, site.URL+c.path(i), nil)
			if err != nil {
				return err
			}
			for _, k := range cookies {
				r.AddCookie(k)
			}
			a, err := http.DefaultClient.Do(r)
			if err != nil {
				return err
			}
			defer a.Body.Close()
			if _, err := io.Copy(io.Discard, a.Body); err != nil {
				return err
			}
			if a.StatusCode != 200 {
				return fmt.Errorf("%s: status %d", c.name, a.StatusCode)
			}
			return nil
		}))
	}
	ends := []string{p.End("1N-1").End.ID, p.End("1N-2").End.ID, p.End("1F-1").End.ID, p.End("1F-2").End.ID}
	who := p.Actor(authz.Inspector)
	report(t, "edits, 4 writers", drive(t, 4, 5*time.Second, func(i int) error {
		ch := asFound(0.3)
		ch.Readings[0].T = units.Length(7 + float64(i%1000)/1000)
		_, err := p.Store.Edit(context.Background(), db.Entry{ID: newEntryID(), ProgramID: p.ID, Actor: who,
			Ends: []db.EndRef{{ID: ends[i%4]}}, Change: repair.Change(ch)})
		return err
	}))
}

func drive(t *testing.T, clients int, d time.Duration, one func(i int) error) []time.Duration {
	var mu sync.Mutex
	var all []time.Duration
	var wg sync.WaitGroup
	stop := time.Now().Add(d)
	for k := range clients {
		wg.Go(func() {
			for i := k; time.Now().Before(stop); i += clients {
				start := time.Now()
				if err := one(i); err != nil {
					t.Error(err)
					return
				}
				took := time.Since(start)
				mu.Lock()
				all = append(all, took)
				mu.Unlock()
			}
		})
	}
	wg.Wait()
	return all
}

func report(t *testing.T, name string, all []time.Duration) {
	if len(all) == 0 {
		t.Errorf("%s: nothing was answered", name)
		return
	}
	slices.Sort(all)
	at := func(q float64) time.Duration {
		return all[min(int(q*float64(len(all))), len(all)-1)].Round(10 * time.Microsecond)
	}
	t.Logf("%-24s %6d answers   p50 %10v   p95 %10v   p99 %10v", name, len(all), at(0.5), at(0.95), at(0.99))
}
