package web_test

import (
	"encoding/json"
	"net/http/httptest"
	"os"
	"os/exec"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/authz"
)

var curlLine = regexp.MustCompile(`(?m)^    (curl .*)$`)

// The commands of the readme are run as they stand there, by a shell, against a server:
// only the place, the program, and an entry's number and version are put in.
func TestCommandsOfTheReadmeAnswer(t *testing.T) {
	t.Parallel()
	readme, err := os.ReadFile("../../README.md")
	require.NoError(t, err)
	found := curlLine.FindAllStringSubmatch(string(readme), -1)
	require.GreaterOrEqual(t, len(found), 4)
	p := newTestProgram(t)
	token := p.Token(p.Role(authz.Engineer), authz.Scopes()...)
	site := httptest.NewServer(p.Server.Handler())
	t.Cleanup(site.Close)
	for _, m := range found {
		line := strings.NewReplacer("http://127.0.0.1:8080", site.URL, "PROGRAM", "small",
			"ENTRY", newEntryID(), "VERSION", strconv.FormatInt(p.End("1N-1").End.Version, 10)).Replace(m[1])
		cmd := exec.CommandContext(p.ctx, "sh", "-ec", line+" --fail-with-body --silent")
		cmd.Env = append(os.Environ(), "TOKEN="+token.secret)
		out, err := cmd.Output()
		require.NoError(t, err, "%s: %s", m[1], out)
		require.True(t, json.Valid(out), "%s: %s", m[1], out)
	}
}
