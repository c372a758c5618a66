package migrations

import (
	"crypto/sha256"
	"encoding/hex"
	"io/fs"
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// A migration that was given out is never edited: databases have run it. Add the
// next number instead, and its line to checksums.txt.
func TestShippedMigrationsAreUnchanged(t *testing.T) {
	t.Parallel()
	raw, err := os.ReadFile("checksums.txt")
	require.NoError(t, err)
	want := map[string]string{}
	for _, line := range strings.Split(strings.TrimSpace(string(raw)), "\n") {
		sum, name, ok := strings.Cut(line, "  ")
		require.True(t, ok, line)
		want[name] = sum
	}
	names, err := fs.Glob(FS, "*.sql")
	require.NoError(t, err)
	require.Len(t, want, len(names), "every migration has its line in checksums.txt")
	for _, name := range names {
		data, err := fs.ReadFile(FS, name)
		require.NoError(t, err)
		sum := sha256.Sum256(data)
		require.Equal(t, want[name], hex.EncodeToString(sum[:]), name)
	}
}
