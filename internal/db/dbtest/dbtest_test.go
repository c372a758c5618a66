package dbtest_test

import (
	"bufio"
	"fmt"
	"os"
	"os/exec"
	"strings"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgxpool"
	"github.com/stretchr/testify/require"

	"endcast/internal/db/dbtest"
)

func TestEveryTestHasItsOwnDatabase(t *testing.T) {
	t.Parallel()
	for range 4 {
		t.Run("", func(t *testing.T) {
			t.Parallel()
			pool := dbtest.New(t)
			_, err := pool.Exec(t.Context(), `CREATE TABLE mine (n int)`)
			require.NoError(t, err, "no other test's table is here")
		})
	}
}

func TestTemplateHasTheSchemaAndEmptyHasNot(t *testing.T) {
	t.Parallel()
	const query = `SELECT to_regclass('public.schema_migrations') IS NOT NULL`
	for _, c := range []struct {
		name string
		pool *pgxpool.Pool
		want bool
	}{
		{"new", dbtest.New(t), true},
		{"empty", dbtest.NewEmpty(t), false},
	} {
		var have bool
		require.NoError(t, c.pool.QueryRow(t.Context(), query).Scan(&have))
		require.Equal(t, c.want, have, c.name)
	}
}

func TestConnectsAsTheApplicationDoes(t *testing.T) {
	t.Parallel()
	conn, err := pgx.Connect(t.Context(), dbtest.DSN(t))
	require.NoError(t, err)
	t.Cleanup(func() { _ = conn.Close(t.Context()) })
	var super, owner bool
	require.NoError(t, conn.QueryRow(t.Context(), `SELECT rolsuper, pg_get_userbyid(datdba) = current_user
		FROM pg_roles, pg_database WHERE rolname = current_user AND datname = current_database()`).Scan(&super, &owner))
	require.False(t, super)
	require.True(t, owner)
}

const childVariable = "DBTEST_CHILD"

// TestClusterGoesWithTheProcess kills a test binary that has a server and sees its folder disappear.
func TestClusterGoesWithTheProcess(t *testing.T) {
	t.Parallel()
	if os.Getenv(childVariable) != "" {
		fmt.Println("socket", dbtest.New(t).Config().ConnConfig.Host)
		<-t.Context().Done() // until killed
		return
	}
	cmd := exec.CommandContext(t.Context(), os.Args[0], "-test.run=^TestClusterGoesWithTheProcess$")
	cmd.Env = append(os.Environ(), childVariable+"=1")
	out, err := cmd.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, cmd.Start())
	var dir string
	for lines := bufio.NewScanner(out); dir == "" && lines.Scan(); {
		if after, ok := strings.CutPrefix(lines.Text(), "socket "); ok {
			dir = after
		}
	}
	require.DirExists(t, dir)
	require.NoError(t, cmd.Process.Kill())
	require.Error(t, cmd.Wait())
	require.Eventually(t, func() bool { _, err := os.Stat(dir); return os.IsNotExist(err) }, 20*time.Second, 50*time.Millisecond)
}

func BenchmarkNew(b *testing.B) {
	dbtest.New(b)
	for b.Loop() {
		dbtest.DSN(b)
	}
}
