package web_test

import (
	"archive/zip"
	"bufio"
	"bytes"
	"crypto/sha256"
	"encoding/binary"
	"encoding/csv"
	"encoding/hex"
	"encoding/json"
	"encoding/xml"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"github.com/xuri/excelize/v2"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/repair"
	"endcast/internal/domain/units"
	"endcast/internal/web/webtest"
)

// unpacked is the content of a package by path, without the folder at its root.
func unpacked(t testing.TB, data []byte) map[string][]byte {
	t.Helper()
	z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	require.NoError(t, err)
	out := map[string][]byte{}
	for _, f := range z.File {
		_, name, ok := strings.Cut(f.Name, "/")
		require.True(t, ok, f.Name)
		require.NotContains(t, out, name, "twice in the archive")
		r, err := f.Open()
		require.NoError(t, err)
		out[name], err = io.ReadAll(r)
		require.NoError(t, err)
	}
	return out
}

// onDisk writes a package to a folder.
func onDisk(t testing.TB, files map[string][]byte) string {
	t.Helper()
	dir := t.TempDir()
	for name, data := range files {
		path := filepath.Join(dir, filepath.FromSlash(name))
		require.NoError(t, os.MkdirAll(filepath.Dir(path), 0o700))
		require.NoError(t, os.WriteFile(path, data, 0o600))
	}
	return dir
}

// byPython runs the script of the package itself, where Python is installed.
func byPython(t testing.TB, files map[string][]byte) (said string, ok bool) {
	t.Helper()
	python, err := exec.LookPath("python3")
	if err != nil {
		t.Log("no python3 here: the package is checked by the second reading of the rule alone")
		return "", len(bySecondReading(files)) == 0
	}
	dir := onDisk(t, files)
	out, err := exec.Command(python, "-I", filepath.Join(dir, "check.py"), dir).CombinedOutput()
	return string(out), err == nil
}

// bySecondReading checks a package by the rule that its README.txt states. It shares no
// code with the program or the script.
func bySecondReading(files map[string][]byte) (wrong []string) {
	hexOf := func(b []byte) string { s := sha256.Sum256(b); return hex.EncodeToString(s[:]) }
	if string(files["MANIFEST.sha256"]) != hexOf(files["MANIFEST"])+"  MANIFEST\n" {
		wrong = append(wrong, "MANIFEST")
	}
	listed := map[string]bool{"MANIFEST": true, "MANIFEST.sha256": true}
	for line := range strings.Lines(string(files["MANIFEST"])) {
		sum, name, _ := strings.Cut(strings.TrimSuffix(line, "\n"), "  ")
		listed[name] = true
		if data, there := files[name]; !there || hexOf(data) != sum {
			wrong = append(wrong, name)
		}
	}
	for name := range files {
		if !listed[name] {
			wrong = append(wrong, name)
		}
	}
	type entry struct {
		Seq               int64
		At                int64   `json:"at_us"`
		EntryID           string  `json:"entry_id"`
		ProgramID         *string `json:"program_id"`
		EndID             *string `json:"end_id"`
		ActorID           string  `json:"actor_id"`
		Actor, Kind, Body string
		Prev              string `json:"prev_hash"`
		Hash              string
		Partial           bool
	}
	prev, at, hashes := strings.Repeat("0", 64), int64(0), map[int64]string{}
	lines := bufio.NewScanner(bytes.NewReader(files["journal.jsonl"]))
	lines.Buffer(nil, 64<<20)
	for lines.Scan() {
		var e entry
		if json.Unmarshal(lines.Bytes(), &e) != nil {
			wrong = append(wrong, "a line of the journal")
			continue
		}
		var buf bytes.Buffer
		put := func(b []byte) {
			_ = binary.Write(&buf, binary.BigEndian, uint64(len(b)))
			buf.Write(b)
		}
		i64 := func(v int64) []byte { return binary.BigEndian.AppendUint64(nil, uint64(v)) }
		str := func(s *string) []byte {
			if s == nil {
				return nil
			}
			return []byte(*s)
		}
		p, _ := hex.DecodeString(e.Prev)
		for _, b := range [][]byte{p, i64(e.Seq), i64(e.At), []byte(e.EntryID), str(e.ProgramID), str(e.EndID), []byte(e.ActorID), []byte(e.Actor), []byte(e.Kind), []byte(e.Body)} {
			put(b)
		}
		name := fmt.Sprintf("journal entry %d", e.Seq)
		if hexOf(buf.Bytes()) != e.Hash || e.Seq == at+1 && e.Prev != prev {
			wrong = append(wrong, name)
		}
		var body struct {
			Follows *struct {
				Seq  int64
				Hash string
			}
		}
		_ = json.Unmarshal([]byte(e.Body), &body)
		if f := body.Follows; f != nil && f.Seq > 0 && !e.Partial && hashes[f.Seq] != f.Hash {
			wrong = append(wrong, name)
		}
		hashes[e.Seq], prev, at = e.Hash, e.Hash, e.Seq
	}
	return wrong
}

// relisted is a package whose lists were made anew, as somebody would do who changed a
// file and knows how the lists are made.
func relisted(files map[string][]byte) map[string][]byte {
	var b bytes.Buffer
	var names []string
	for name := range files {
		if !strings.HasPrefix(name, "MANIFEST") {
			names = append(names, name)
		}
	}
	slices.Sort(names)
	for _, name := range names {
		fmt.Fprintf(&b, "%x  %s\n", sha256.Sum256(files[name]), name)
	}
	files["MANIFEST"] = b.Bytes()
	files["MANIFEST.sha256"] = fmt.Appendf(nil, "%x  MANIFEST\n", sha256.Sum256(b.Bytes()))
	return files
}

func TestPackageIsCheckedWithoutTheProgram(t *testing.T) {
	t.Parallel()
	p := newBusyProgram(t, "plain words")
	// Another program's entries lie between those of this one.
	q := newTestProgramIn(t, p)
	q.DoProgram(authz.Engineer, repair.EditBasis{Key: "web.phi_crippling", Value: 0.75, Typed: "0.75", Source: "elsewhere only"})
	p.Do(authz.Designer, "1F-1", repair.EditEnd{Facts: repair.FactsOf(p.End("1F-1").End), Reason: "looked at again"})

	a := p.Role(authz.Engineer).Get(p.Path("files", "package.zip")).Status(200)
	require.Equal(t, "application/zip", a.Response.Header.Get("Content-Type"))
	require.Equal(t, `attachment; filename="small-package.zip"`, a.Response.Header.Get("Content-Disposition"))
	keep(t, "package.zip", []byte(a.Body))
	files := func() map[string][]byte { return unpacked(t, []byte(a.Body)) }
	require.Empty(t, bySecondReading(files()))
	said, ok := byPython(t, files())
	require.True(t, ok, said)
	require.NotContains(t, said, "gaps", "each gap that another program left is closed")

	lines := func() []string {
		return strings.SplitAfter(strings.TrimSuffix(string(files()["journal.jsonl"]), "\n"), "\n")
	}
	last := len(lines()) - 1
	for _, c := range []struct {
		name, want string
		harm       func(f map[string][]byte) map[string][]byte
	}{
		{"a figure in a table", "tables/reading.csv: was altered", func(f map[string][]byte) map[string][]byte {
			f["tables/reading.csv"] = bytes.Replace(f["tables/reading.csv"], []byte("L"), []byte("R"), 1)
			f["tables/reading.csv"] = append(f["tables/reading.csv"], ' ')
			return f
		}},
		{"a file taken out", "ends/1N-1/record.json: is missing", func(f map[string][]byte) map[string][]byte { delete(f, "ends/1N-1/record.json"); return f }},
		{"a file put in", "photos/other.png: was added", func(f map[string][]byte) map[string][]byte { f["photos/other.png"] = []byte("x"); return f }},
		{"the list", "MANIFEST: is not the one", func(f map[string][]byte) map[string][]byte {
			f["MANIFEST"] = bytes.TrimSuffix(f["MANIFEST"], []byte("\n"))
			return f
		}},
		{"an entry, and the lists made anew", "journal entry 2: its content does not have its hash", func(f map[string][]byte) map[string][]byte {
			f["journal.jsonl"] = bytes.Replace(f["journal.jsonl"], []byte("mill certificate"), []byte("mill letter"), 1)
			return relisted(f)
		}},
		{"an entry taken out, and the lists made anew", "is missing or another", func(f map[string][]byte) map[string][]byte {
			l := lines()
			f["journal.jsonl"] = []byte(strings.Join(slices.Delete(l, 3, 4), ""))
			return relisted(f)
		}},
		{"the entry behind a gap taken out", "is missing or another", func(f map[string][]byte) map[string][]byte {
			l := lines()
			f["journal.jsonl"] = []byte(strings.Join(slices.Delete(l, last-1, last), ""))
			return relisted(f)
		}},
		{"two entries changed about", "does not come after entry", func(f map[string][]byte) map[string][]byte {
			l := lines()
			l[2], l[3] = l[3], l[2]
			f["journal.jsonl"] = []byte(strings.Join(l, ""))
			return relisted(f)
		}},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			harmed := c.harm(files())
			require.NotEmpty(t, bySecondReading(harmed))
			said, ok := byPython(t, harmed)
			require.False(t, ok, said)
			if said != "" {
				require.Contains(t, said, c.want)
			}
		})
	}
}

func TestPackageHoldsTheWholeRecordInOpenForms(t *testing.T) {
	t.Parallel()
	p := newBusyProgram(t, "=1+1; \"plain\" words\nin two lines")
	other := newTestProgramIn(t, p)
	other.approved("1N-1")
	files := unpacked(t, []byte(p.Role(authz.Engineer).Get(p.Path("files", "package.zip")).Status(200).Body))

	// Every row of every table that the catalogue knows is there, cell by cell as the
	// database itself writes the key.
	for _, table := range []string{"reading", "stud", "collar", "photo", "nonconformance", "specimen", "batch", "result", "basis_setting", "step", "pour_end", "end_state", "outlook"} {
		rows := readCSV(t, files["tables/"+table+".csv"])
		var want int
		require.NoError(t, p.Pool.QueryRow(p.ctx, countOf(table), p.ID).Scan(&want), table)
		require.Positive(t, want, table)
		require.Len(t, rows, want+1, table)
	}
	head := readCSV(t, files["tables/reading.csv"])[0]
	require.Equal(t, "\ufeffid", "\ufeff"+head[0])
	require.Contains(t, head, "t_mm [mm]")
	at := slices.Index(head, "t_mm [mm]")
	thick := map[string]bool{}
	for _, r := range readCSV(t, files["tables/reading.csv"])[1:] {
		thick[r[at]] = true
	}
	for _, r := range p.End("1N-1").Readings {
		require.True(t, thick[exactly(float64(r.T))], "%v", r.T)
	}
	note := readCSV(t, files["tables/survey.csv"])
	require.Contains(t, note[1], "'=1+1; \"plain\" words\nin two lines", "a spreadsheet takes no text for a formula")

	book, err := excelize.OpenReader(bytes.NewReader(files["tables.xlsx"]))
	require.NoError(t, err)
	rows, err := book.GetRows("reading")
	require.NoError(t, err)
	require.Len(t, rows, len(readCSV(t, files["tables/reading.csv"])))
	cell, err := book.GetCellFormula("survey", "L2")
	require.NoError(t, err)
	require.Empty(t, cell)

	var doc struct {
		End     struct{ Name string }
		Designs []struct {
			Revision int
			Studs    []struct{ Mark string }
			Reviews  []struct{ Decision string }
		}
		Results []struct {
			Subject  string
			Capacity float64 `json:"capacity_n"`
		}
		Sheet struct {
			Agrees bool `json:"agrees_with_stored"`
			Parts  []struct {
				Subject string
				Checks  []struct {
					Key   string
					Lines []struct{ Text, Formula string }
				}
			}
		}
	}
	require.NoError(t, json.Unmarshal(files["ends/1N-1/record.json"], &doc))
	rec := p.End("1N-1")
	require.Equal(t, "1N-1", doc.End.Name)
	require.Len(t, doc.Designs, 2)
	require.Len(t, doc.Designs[1].Studs, 20)
	require.Len(t, doc.Designs[1].Reviews, 1)
	require.True(t, doc.Sheet.Agrees, "the sheet of a package is the stored result")
	require.Len(t, doc.Results, len(rec.Results))
	for i, r := range rec.Results {
		require.InDelta(t, float64(r.Capacity), doc.Results[i].Capacity, 0, r.Subject)
	}
	var formulas int
	for _, part := range doc.Sheet.Parts {
		for _, c := range part.Checks {
			for _, l := range c.Lines {
				require.NotEmpty(t, l.Text, c.Key)
				if l.Formula != "" {
					formulas++
				}
			}
		}
	}
	require.Greater(t, formulas, 20)

	for name, data := range files {
		if strings.HasSuffix(name, ".svg") {
			d := xml.NewDecoder(bytes.NewReader(data))
			var err error
			for err == nil {
				_, err = d.Token()
			}
			require.ErrorIs(t, err, io.EOF, name)
			require.NotContains(t, string(data), "var(", name)
			require.NotContains(t, string(data), "color-mix", name)
		}
	}
	keep(t, "package-drawing.svg", files["ends/1N-1/drawing.svg"])
	keep(t, "package-README.txt", files["README.txt"])
	for _, ph := range rec.Photos {
		data := files["photos/"+ph.SHA256+".png"]
		require.Equal(t, ph.SHA256, fmt.Sprintf("%x", sha256.Sum256(data)))
	}
	readme := string(files["README.txt"])
	require.Contains(t, readme, "Table sessions: signed-in browsers are no part of the record.")
	require.Contains(t, readme, "reading: Readings; 40 rows")
	require.Contains(t, readme, "licensed engineer")
	for name, data := range files {
		require.NotContains(t, string(data), "$argon2id", name+": no password, not even its hash")
		require.NotContains(t, string(data), other.ID, name+": nothing of another program")
	}
	require.NotContains(t, string(files["tables/person.csv"]), p.Role(authz.Inspector).User.Email)
}

// exactly is a number as the database writes it.
func exactly(v float64) string {
	b, _ := json.Marshal(v)
	return string(b)
}

func countOf(table string) string {
	switch table {
	case "batch", "pour_end":
		return "select count(*) from " + table + " where pour_id in (select id from pour where program_id = $1)"
	case "nonconformance", "specimen", "basis_setting", "step", "end_state", "outlook":
		return "select count(*) from " + table + " where program_id = $1"
	}
	return "select count(*) from " + table + " where end_id in (select id from girder_end where program_id = $1)"
}

func readCSV(t testing.TB, data []byte) [][]string {
	t.Helper()
	rest, ok := bytes.CutPrefix(data, []byte("\ufeff"))
	require.True(t, ok, "begins with a byte order mark")
	rows, err := csv.NewReader(bytes.NewReader(rest)).ReadAll()
	require.NoError(t, err)
	return rows
}

func TestPackageOfOneEndAndWhatItLeavesOut(t *testing.T) {
	t.Parallel()
	p := newBusyProgram(t, "plain words")
	files := unpacked(t, []byte(p.Role(authz.Manager).Get(p.Path("ends", "1n-1", "package.zip")).Status(200).Body))
	require.Empty(t, bySecondReading(files))
	said, ok := byPython(t, files)
	require.True(t, ok, said)
	require.Contains(t, files, "ends/1N-1/record.json")
	require.NotContains(t, files, "ends/1N-2/record.json")
	require.Len(t, readCSV(t, files["tables/girder_end.csv"]), 2)
	require.Len(t, readCSV(t, files["tables/specimen.csv"]), 7)
	require.Contains(t, string(files["README.txt"]), "Journal entries of other ends alone")

	none := unpacked(t, []byte(p.Role(authz.Manager).Get(p.Path("ends", "1F-2", "package.zip")).Status(200).Body))
	require.Len(t, readCSV(t, none["tables/specimen.csv"]), 1, "the castings of others are theirs")

	records := unpacked(t, []byte(p.Role(authz.Manager).Get(p.Path("files", "package.zip")+"?with=records").Status(200).Body))
	for name := range records {
		require.False(t, strings.HasPrefix(name, "photos/"), name)
	}
	require.Contains(t, string(records["README.txt"]), "3 photographs: this package was asked for with records alone")
	p.Role(authz.Manager).Get(p.Path("files", "package.zip") + "?with=music").Status(400)
	p.Role(authz.Manager).Get(p.Path("ends", "9N-9", "package.zip")).Status(404)

	_, err := p.Pool.Exec(p.ctx, "update photo set policy = 'sealed' where end_id in (select id from girder_end where program_id = $1)", p.ID)
	require.NoError(t, err)
	sealed := unpacked(t, []byte(p.Role(authz.Manager).Get(p.Path("files", "package.zip")).Status(200).Body))
	require.Contains(t, string(sealed["README.txt"]), "3 photographs are sealed")
	require.False(t, slices.ContainsFunc(slices.Collect(keysOf(sealed)), func(s string) bool { return strings.HasPrefix(s, "photos/") }))
	open := unpacked(t, []byte(p.Role(authz.Engineer).Get(p.Path("files", "package.zip")).Status(200).Body))
	require.True(t, slices.ContainsFunc(slices.Collect(keysOf(open)), func(s string) bool { return strings.HasPrefix(s, "photos/") }))

	a := p.Role(authz.Manager).Get(p.Path("files")).Status(200)
	require.Len(t, a.Select(`a[href="`+p.Path("files", "package.zip")+`"]`), 1)
	require.Equal(t, "Package of plain files", webtest.Text(p.Role(authz.Manager).Get(p.Path("ends", "1N-1")).Select(`a[href="` + p.Path("ends", "1N-1", "package.zip") + `"]`)[0]))
}

func keysOf(m map[string][]byte) func(yield func(string) bool) {
	return func(yield func(string) bool) {
		for k := range m {
			if !yield(k) {
				return
			}
		}
	}
}

// A photograph that cannot be read is named, and the rest of the package is whole.
func TestPackageNamesWhatCannotBeRead(t *testing.T) {
	t.Parallel()
	p := newBusyProgram(t, "plain words")
	sha := p.End("1N-1").Photos[0].SHA256
	_, err := p.Pool.Exec(p.ctx, "update photo_blob set bytes = '\\x00' where sha256 = $1", sha)
	require.NoError(t, err)
	files := unpacked(t, []byte(p.Role(authz.Engineer).Get(p.Path("files", "package.zip")).Status(200).Body))
	require.NotContains(t, files, "photos/"+sha+".png")
	require.Contains(t, strings.Join(strings.Fields(string(files["README.txt"])), " "), "The photograph "+sha)
	require.Empty(t, bySecondReading(files))
}

// newTestProgramIn is a second program on the site of another, with the same names
// and numbers in it.
func newTestProgramIn(t testing.TB, p *testProgram) *testProgram {
	t.Helper()
	q := *p
	q.clients = map[authz.Role]*webtest.Client{}
	id := newEntryID()
	q.ID, q.code = id, "second"
	q.Program = mustUUID(id)
	who := p.Actor(authz.Administrator)
	for _, change := range []repair.Change{
		repair.CreateProgram{Program: repair.Program{ID: id, Code: "second", Name: "Second bridge repairs", Units: string(units.US)}},
		repair.ImportBridge{Bridge: testBridge()},
	} {
		require.NoError(t, q.tryProgram(who, change))
	}
	return &q
}
