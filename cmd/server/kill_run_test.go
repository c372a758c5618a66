package main

import (
	"bytes"
	"context"
	"crypto/rand"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	mrand "math/rand/v2"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"
	"syscall"
	"testing"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgxpool"
	"github.com/stretchr/testify/require"

	"endcast/internal/db"
	"endcast/internal/db/pglocal"
	"endcast/internal/domain/authz"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
)

// killHang is after how long anything here counts as stuck; it is no limit on speed.
const killHang = 5 * time.Minute

// killRun is a server as its users run it, the built binary with its built-in database on a
// disk, with clients that edit it while it is killed.
type killRun struct {
	t       *testing.T
	binary  string
	data    string
	addr    string
	base    string
	process *exec.Cmd
	log     *screen
	gone    chan struct{} // closed when the process has ended

	program string
	ends    []string   // names
	tokens  [][]string // some for each client: one alone asks only so often a minute

	mu       sync.Mutex
	acked    map[string]int64 // number in the journal, by entry
	sent     int              // requests
	repeated int              // entries sent again whose first answer came
	kills    map[string]int
	restart  []time.Duration // from the kill until the server answers
}

func newKillRun(t *testing.T, clients int) *killRun {
	t.Helper()
	k := &killRun{t: t, addr: "127.0.0.1:0", acked: map[string]int64{}, kills: map[string]int{}, program: uuid.NewString()}
	var err error
	k.data, err = os.MkdirTemp("", "endcast-kill-")
	require.NoError(t, err)
	require.NoError(t, os.Chmod(k.data, 0o755)) // the user of the database goes through it
	t.Cleanup(func() { require.NoError(t, os.RemoveAll(k.data)) })
	k.binary = filepath.Join(k.data, "endcast")
	build := exec.CommandContext(t.Context(), "go", "build", "-o", k.binary, ".")
	out, err := build.CombinedOutput()
	require.NoError(t, err, string(out))
	t.Cleanup(k.stop)
	k.start()
	k.addr = strings.TrimPrefix(k.base, "http://")
	k.fill(clients)
	return k
}

// start runs the server until it says where it is.
func (k *killRun) start() {
	k.t.Helper()
	out := &screen{}
	k.log = &screen{}
	cmd := exec.Command(k.binary, "serve", "-data", filepath.Join(k.data, "d"), "-addr", k.addr, "-chromium", "none", "-log-level", "error")
	cmd.Stdout, cmd.Stderr = out, k.log
	require.NoError(k.t, cmd.Start())
	gone := make(chan struct{})
	go func() { _ = cmd.Wait(); close(gone) }()
	k.process, k.gone = cmd, gone
	require.Eventually(k.t, func() bool {
		if m := greeting.FindStringSubmatch(out.String()); m != nil {
			if k.base == "" { // the address stays the same, and clients read it
				k.base = m[1]
			}
			return true
		}
		select {
		case <-gone:
			return true
		default:
			return false
		}
	}, killHang, 5*time.Millisecond)
	select {
	case <-gone:
		require.FailNow(k.t, "the server does not start", k.log.String())
	default:
	}
}

func (k *killRun) stop() {
	if k.process == nil {
		return
	}
	_ = k.process.Process.Signal(syscall.SIGTERM)
	k.waitGone()
}

func (k *killRun) waitGone() {
	select {
	case <-k.gone:
	case <-time.After(killHang):
		k.t.Error("the server did not end", k.log.String())
	}
}

func (k *killRun) folder() string { return filepath.Join(k.data, "d", "postgres") }

// pool connects to the database of the running server.
func (k *killRun) pool() *pgxpool.Pool {
	k.t.Helper()
	dsn, err := pglocal.Attach(k.folder())
	require.NoError(k.t, err)
	pool, err := db.Open(context.WithoutCancel(k.t.Context()), dsn)
	require.NoError(k.t, err)
	return pool
}

// fill makes a bridge of forty ends, and an inspector with tokens for each client.
func (k *killRun) fill(clients int) {
	k.t.Helper()
	ctx := k.t.Context()
	pool := k.pool()
	defer pool.Close()
	st, people := db.NewStore(pool), db.People{Pool: pool}
	admin, err := people.Create(ctx, db.NewUser{Email: "admin@ends.example", Name: "Admin", PasswordHash: "x"})
	require.NoError(k.t, err)
	in := repair.BridgeIn{
		Supports: []repair.SupportIn{{Code: "A1", Name: "Abutment 1"}, {Code: "A2", Name: "Abutment 2", Station: 60 * units.Foot}},
		Spans:    []repair.SpanIn{{Number: 1, Length: 60 * units.Foot, Girders: 20, Spacing: 8 * units.Foot, From: "A1", To: "A2"}},
		Sections: []repair.Section{{Name: "W33X130", Kind: "rolled", Depth: 33.1 * units.Inch, FlangeWidth: 11.5 * units.Inch, TopFlangeWidth: 11.5 * units.Inch,
			FlangeThickness: 0.855 * units.Inch, TopFlangeThickness: 0.855 * units.Inch, WebThickness: 0.58 * units.Inch, FilletK: 1.56 * units.Inch, Source: "invented"}},
	}
	for g := 1; g <= 20; g++ {
		for _, side := range []string{"N", "F"} {
			sup, face := "A1", "ahead"
			if side == "F" {
				sup, face = "A2", "back"
			}
			in.Ends = append(in.Ends, repair.EndIn{Span: 1, Side: side, Girder: g, Support: sup, Face: face, Section: "W33X130", Facts: repair.EndFacts{BearingKind: "bolster",
				BearingLength: 8 * units.Inch, BearingWidth: 11 * units.Inch, Fy: 33 * units.Ksi, Fu: 66 * units.Ksi, HeldAgainstRoll: true, Reaction: 110 * units.Kip, Access: "open"}})
			k.ends = append(k.ends, fmt.Sprintf("1%s-%d", side, g))
		}
	}
	who := repair.Actor{ID: admin.ID.String(), Name: admin.Name, Role: authz.Administrator}
	for _, ch := range []repair.Change{repair.CreateProgram{Program: repair.Program{ID: k.program, Code: "kill", Name: "Kill", Units: "us"}}, repair.ImportBridge{Bridge: in}} {
		_, err := st.Edit(ctx, db.Entry{ID: uuid.NewString(), ProgramID: k.program, Actor: who, Change: ch})
		require.NoError(k.t, err)
	}
	for i := range clients {
		u, err := people.Create(ctx, db.NewUser{Email: fmt.Sprintf("inspector.%d@ends.example", i), Name: fmt.Sprintf("Inspector %d", i), PasswordHash: "x"})
		require.NoError(k.t, err)
		require.NoError(k.t, people.SetRole(ctx, u.ID, uuid.MustParse(k.program), authz.Inspector))
		k.tokens = append(k.tokens, nil)
		for n := range 8 {
			secret := rand.Text()
			_, err := st.EditPeople(ctx, db.PeopleEntry{ID: uuid.NewString(), ProgramID: k.program, Actor: repair.Actor{ID: u.ID.String(), Name: u.Name, Role: authz.Inspector}, Act: db.PeopleToken, UserID: u.ID,
				Token: &db.NewToken{Name: fmt.Sprintf("token %d", n), Scopes: []authz.Scope{authz.ScopeField}, Expires: time.Now().Add(24 * time.Hour), Secret: secret}})
			require.NoError(k.t, err)
			k.tokens[i] = append(k.tokens[i], secret)
		}
	}
}

// errRefused is an answer that no kill explains.
var errRefused = errors.New("refused")

// send sends one entry and returns its number in the journal. An error that is not errRefused
// leaves open whether it was taken.
func (k *killRun) send(client *http.Client, token, entry, end string) (int64, bool, error) {
	body, err := json.Marshal(map[string]any{"kind": "inspection.record", "entry": entry, "ends": []any{map[string]any{"end": end}},
		"change": map[string]any{"subject": "gauges", "outcome": "accepted", "note": entry}})
	if err != nil {
		return 0, false, err
	}
	req, err := http.NewRequest(http.MethodPost, k.base+"/api/v1/p/kill/edits", bytes.NewReader(body))
	if err != nil {
		return 0, false, err
	}
	req.Header.Set("Authorization", "Bearer "+token)
	req.Header.Set("Content-Type", "application/json")
	a, err := client.Do(req)
	if err != nil {
		return 0, false, err
	}
	defer func() { _ = a.Body.Close() }()
	text, err := io.ReadAll(a.Body)
	if err != nil {
		return 0, false, err
	}
	if a.StatusCode != http.StatusOK {
		err := fmt.Errorf("status %d: %s", a.StatusCode, text)
		if a.StatusCode < 500 && a.StatusCode != http.StatusTooManyRequests {
			err = fmt.Errorf("%w: %w", errRefused, err)
		}
		return 0, false, err
	}
	var rec struct {
		Entry    string
		Number   int64
		Repeated bool
	}
	if err := json.Unmarshal(text, &rec); err != nil {
		return 0, false, err
	}
	if rec.Entry != entry || rec.Number == 0 {
		return 0, false, fmt.Errorf("%w: the answer is for another entry: %s", errRefused, text)
	}
	return rec.Number, rec.Repeated, nil
}

// edits has the clients make edits until so many more are acknowledged, and kills at a random
// one of them, with the others of all clients under way. Each client sends an entry again, the same one, until it is
// answered; sometimes it sends an answered one again.
func (k *killRun) edits(more int, kill func() (alive bool)) {
	k.t.Helper()
	at := int64(1 + mrand.IntN(max(1, more*3/4)))
	var begun, done atomic.Int64
	reached, mended := make(chan struct{}), make(chan struct{})
	var once sync.Once
	var wg sync.WaitGroup
	for i, tokens := range k.tokens {
		wg.Go(func() {
			client := &http.Client{Timeout: killHang, Transport: &http.Transport{MaxIdleConnsPerHost: 1}}
			defer client.CloseIdleConnections()
			for n := 0; begun.Add(1) <= int64(more); n++ {
				entry, end := uuid.NewString(), k.ends[mrand.IntN(len(k.ends))]
				var number int64
				again := false
				for try := 0; ; try++ {
					var err error
					number, again, err = k.send(client, tokens[(n+try)%len(tokens)], entry, end)
					k.mu.Lock()
					k.sent++
					k.mu.Unlock()
					if err == nil {
						break
					}
					if errors.Is(err, errRefused) {
						k.t.Errorf("client %d: %v", i, err)
						once.Do(func() { close(reached) })
						return
					}
					select { // the server comes back only after the kill
					case <-mended:
					case <-time.After(20 * time.Millisecond):
					}
				}
				k.mu.Lock()
				k.acked[entry] = number
				if again {
					k.repeated++
				}
				k.mu.Unlock()
				if n%10 == 9 {
					if second, _, err := k.send(client, tokens[n%len(tokens)], entry, end); err == nil && second != number {
						k.t.Errorf("entry %s was answered as %d and then as %d", entry, number, second)
					}
				}
				if done.Add(1) == at {
					once.Do(func() { close(reached) })
				}
			}
		})
	}
	<-reached
	began := time.Now()
	if !kill() {
		k.waitGone()
		k.start()
	}
	k.mu.Lock()
	k.restart = append(k.restart, time.Since(began))
	k.mu.Unlock()
	close(mended)
	wg.Wait()
}

// killProgram ends the server at once.
func (k *killRun) killProgram() bool {
	k.kills["program"]++
	require.NoError(k.t, k.process.Process.Kill())
	return false
}

// killDatabase ends PostgreSQL at once: its first process, or the one that serves a
// connection, which takes all others down with it.
func (k *killRun) killDatabase() bool {
	raw, err := os.ReadFile(filepath.Join(k.folder(), "pg", "postmaster.pid"))
	require.NoError(k.t, err)
	first, err := strconv.Atoi(strings.SplitN(string(raw), "\n", 2)[0])
	require.NoError(k.t, err)
	if mrand.IntN(2) == 0 {
		k.kills["first process of PostgreSQL"]++
		require.NoError(k.t, syscall.Kill(first, syscall.SIGKILL))
		return false
	}
	k.kills["one process of PostgreSQL"]++
	pool := k.pool()
	defer pool.Close()
	var pid int
	err = pool.QueryRow(k.t.Context(), "select pid from pg_stat_activity where backend_type = 'client backend' and pid <> pg_backend_pid() order by random() limit 1").Scan(&pid)
	require.NoError(k.t, err)
	require.NoError(k.t, syscall.Kill(pid, syscall.SIGKILL))
	return true
}

// check asks that every acknowledged edit is there once, and that the journal is whole and the
// record what it says. Nobody edits meanwhile.
func (k *killRun) check() {
	k.t.Helper()
	ctx := k.t.Context()
	var pool *pgxpool.Pool
	require.Eventually(k.t, func() bool { // a database that was killed recovers first
		dsn, err := pglocal.Attach(k.folder())
		if err == nil {
			pool, err = db.Open(ctx, dsn)
		}
		return err == nil
	}, killHang, 10*time.Millisecond)
	defer pool.Close()
	rows, err := pool.Query(ctx, `select i.note, count(*), min(j.seq), max(j.seq) from inspection i left join journal j on j.entry_id::text = i.note group by i.note`)
	require.NoError(k.t, err)
	type found struct {
		Entry       string
		Rows        int
		First, Last *int64
	}
	list, err := pgx.CollectRows(rows, pgx.RowToStructByPos[found])
	require.NoError(k.t, err)
	k.mu.Lock()
	defer k.mu.Unlock()
	left := make(map[string]int64, len(k.acked))
	for e, n := range k.acked {
		left[e] = n
	}
	for _, f := range list {
		require.Equal(k.t, 1, f.Rows, "entry %s is on record more than once", f.Entry)
		require.NotNil(k.t, f.First, "the row of entry %s has no journal entry", f.Entry)
		if n, ok := left[f.Entry]; ok {
			require.Equal(k.t, n, *f.First, "entry %s has another number than the answer said", f.Entry)
			delete(left, f.Entry)
		}
	}
	require.Empty(k.t, left, "acknowledged and lost")
	v, err := db.NewStore(pool).Verify(ctx)
	require.NoError(k.t, err)
	require.Empty(k.t, v.Differences)
	require.Equal(k.t, len(k.ends), v.Ends)
}

// run kills so many times during so many edits in all and checks after each.
func (k *killRun) run(kills, edits int, kill func() bool) {
	k.t.Helper()
	for i := range kills {
		k.edits(edits*(i+1)/kills-edits*i/kills, kill)
		if k.t.Failed() {
			return
		}
		k.check()
	}
}
