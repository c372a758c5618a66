package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/uuid"
	"github.com/stretchr/testify/require"

	"endcast/internal/db"
	"endcast/internal/db/dbtest"
	"endcast/internal/domain/authz"
	"endcast/internal/domain/repair"
)

// tables of a bridge of one span, one girder and one survey.
var tables = map[string]string{
	"Supports.csv": "code,name,station [ft]\nA1,Abutment 1,0\nA2,Abutment 2,60\n",
	"Spans.csv":    "number,length [ft],girders,spacing [ft],from_support,to_support\n1,60,1,8,A1,A2\n",
	"Ends.csv":     "name,support,section,bearing,fixity,bearing_start [in],bearing_length [in],bearing_width [in],fy [ksi],reaction [kip]\n1N-1,A1,W33X130,bolster,fixed,3,8,11,33,110\n",
	"Surveys.csv":  "end,survey_no,kind,taken_at,taken_by\n1N-1,1,as found,2024-05-02 09:00,I. Wren\n",
	"Readings.csv": "end,survey_no,face,x [in],z [in],t [in]\n1N-1,1,T,4,1,5/16\n1N-1,1,T,8,1,0.25\n",
}

func TestImportCommand(t *testing.T) {
	t.Parallel()
	dsn := dbtest.DSN(t)
	pool, err := db.Open(t.Context(), dsn)
	require.NoError(t, err)
	defer pool.Close()
	st, people := db.NewStore(pool), db.People{Pool: pool}
	person := func(name string, role authz.Role, program string) repair.Actor {
		u, err := people.Create(t.Context(), db.NewUser{Email: name + "@ends.test", Name: name, PasswordHash: "x"})
		require.NoError(t, err)
		if program != "" {
			require.NoError(t, people.SetRole(t.Context(), u.ID, uuid.MustParse(program), role))
		}
		return repair.Actor{ID: u.ID.String(), Name: u.Name, Role: role}
	}
	id := uuid.NewString()
	_, err = st.Edit(t.Context(), db.Entry{ID: uuid.NewString(), ProgramID: id, Actor: person("admin", authz.Administrator, ""),
		Change: repair.CreateProgram{Program: repair.Program{ID: id, Code: "own", Name: "A bridge of our own", Units: "us"}}})
	require.NoError(t, err)
	person("designer", authz.Designer, id)
	person("inspector", authz.Inspector, id)
	person("stranger", "", "")

	dir := t.TempDir()
	write := func(name, text string) string {
		path := filepath.Join(dir, name)
		require.NoError(t, os.WriteFile(path, []byte(text), 0o600))
		return path
	}
	words := []string{"import", "-program", "own", "-as", "designer@ends.test"}
	for name, text := range tables {
		words = append(words, write(name, text))
	}
	env := []string{"DATABASE_URL=" + dsn}
	as := func(email string) []string {
		out := append([]string(nil), words...)
		out[4] = email
		return out
	}
	for email, want := range map[string]string{"inspector@ends.test": "has no role in own that may import", "stranger@ends.test": "has no role in own",
		"nobody@ends.test": "no such account"} {
		status, out, errs := typed(t.Context(), env, "", as(email)...)
		require.Equal(t, exitFailed, status, email)
		require.Contains(t, errs, want)
		require.Empty(t, out)
	}

	bad := write("Readings.csv", strings.Replace(tables["Readings.csv"], "5/16", "thick", 1)+"1N-1,1,T,9,1,9\n")
	status, out, errs := typed(t.Context(), env, "", words...)
	require.Equal(t, exitFailed, status)
	require.Equal(t, 2, strings.Count(out, "\n"), out)
	require.Contains(t, out, `Readings row 2, t "thick": is not a number`)
	require.Contains(t, out, `Readings row 4, t "9": must lie from 0 to`)
	require.Contains(t, errs, "2 problem(s); nothing was written")
	list, err := st.Everything(t.Context(), id)
	require.NoError(t, err)
	require.Empty(t, list.Supports)

	require.NoError(t, os.WriteFile(bad, []byte(tables["Readings.csv"]), 0o600))
	status, out, errs = typed(t.Context(), env, "", words...)
	require.Equal(t, exitOK, status, errs)
	for _, line := range []string{"2 supports\n", "1 span\n", "1 section\n", "1 girder end\n", "1 survey\n", "2 readings\n", "on record as entry 2 of the journal\n"} {
		require.Contains(t, out, line)
	}
	s, err := st.End(t.Context(), id, "1N-1")
	require.NoError(t, err)
	require.NotNil(t, s.Ends[0].State[0].Capacity)
	require.Equal(t, "I. Wren", s.Ends[0].Surveys[0].TakenBy)

	status, out, errs = typed(t.Context(), env, "", words...)
	require.Equal(t, exitFailed, status, "a second time")
	require.Contains(t, out, "the program has support A1 already")
	require.Contains(t, errs, "nothing was written")
}
