package db

import (
	"testing"

	"github.com/stretchr/testify/require"
)

func TestPasswordStaysOutOfArguments(t *testing.T) {
	t.Parallel()
	for dsn, want := range map[string]string{
		"postgres://u:secret@h:5432/d?sslmode=disable": "postgres://u@h:5432/d?sslmode=disable",
		"postgresql://h/d?user=u&password=secret":      "postgresql://h/d?user=u",
		"host=h user=u password=secret dbname=d":       "host=h user=u  dbname=d",
		`host=h password = 'se cr\'et' dbname=d`:       "host=h  dbname=d",
		"postgres:///d?host=%2Ftmp%2Fa%20b&user=u":     "postgres:///d?host=%2Ftmp%2Fa%20b&user=u",
	} {
		cmd, err := tool(t.Context(), "/bin", "pg_dump", dsn)
		require.NoError(t, err)
		require.Equal(t, []string{"/bin/pg_dump", "--dbname=" + want}, cmd.Args)
	}
	cmd, err := tool(t.Context(), "/bin", "pg_dump", `host=h password='se cr\'et'`)
	require.NoError(t, err)
	require.Contains(t, cmd.Env, `PGPASSWORD=se cr'et`)
}
