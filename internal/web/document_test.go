package web_test

import (
	"archive/zip"
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"io"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"endcast/internal/db"
	"endcast/internal/domain/authz"
	"endcast/internal/domain/basis"
	"endcast/internal/domain/calc"
	"endcast/internal/domain/fault"
	"endcast/internal/domain/repair"
	"endcast/internal/web"
	"endcast/internal/web/paper"
	"endcast/internal/web/webtest"
)

// document puts a file on record as a document of an end that stands on its record as it
// is, without a browser. It returns its number.
func (p *testProgram) document(end, kind string, file []byte) int {
	p.t.Helper()
	sc := p.Scope(end)
	record, err := sc.PaperDigest(kind)
	require.NoError(p.t, err)
	seq, hash, err := p.Store.LastBearing(p.ctx, p.ID, sc.Ends[0].End.ID)
	require.NoError(p.t, err)
	sum := sha256.Sum256(file)
	sha := hex.EncodeToString(sum[:])
	p.Do(authz.Designer, end, repair.MakeDocument{Of: kind, Units: "us",
		Document: repair.Document{Title: repair.PaperWords(kind) + " " + end, SHA256: sha, Size: int64(len(file)), Pages: 1, Record: record, MethodVersion: string(calc.MethodVersion), JournalSeq: seq, JournalHash: hash},
		File:     repair.RawFile{SHA256: sha, Open: func() (io.ReadCloser, error) { return io.NopCloser(bytes.NewReader(file)), nil }}})
	n, err := p.Store.PaperOf(p.ctx, p.ID, sc.Ends[0].End.ID, kind, record)
	require.NoError(p.t, err)
	return n
}

// sign sends the form of a document's page, with changes to it as names and values.
func (p *testProgram) sign(c *webtest.Client, number int, changes ...string) *webtest.Answer {
	p.t.Helper()
	page := c.Get(p.Path("documents", strconv.Itoa(number))).Status(http.StatusOK)
	form := map[string]string{"entry": newEntryID(), "password": webtest.Password, "meaning": "prepared"}
	for _, in := range page.Select("input[type=hidden][name=sha256]") {
		form["sha256"] = webtest.Attr(in, "value")
	}
	for i := 0; i < len(changes); i += 2 {
		form[changes[i]] = changes[i+1]
	}
	var send []string
	for k, v := range form {
		send = append(send, k, v)
	}
	return c.Post(p.Path("documents", strconv.Itoa(number), "sign"), send...)
}

// A package is made by the browser of the server, signed by three people, fetched again byte
// for byte, and checked without this program.
func TestDocumentIsMadeSignedFetchedAndChecked(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	p.approved("1N-1")
	version := p.Version("1N-1")
	designer, engineer := p.Role(authz.Designer), p.Role(authz.Engineer)
	page := designer.Post(p.Path("ends", "1N-1", "documents"), "entry", newEntryID(), "kind", repair.PaperCalculation).LeadsTo(p.Path("documents", "1")).Follow().Status(http.StatusOK)
	page.Has("Calculation package 1N-1", "not signed", "Nobody has signed")
	require.Equal(t, version, p.Version("1N-1"), "nobody's open form goes stale by a document")
	pdf := designer.Get(p.Path("documents", "1", "file")).Status(http.StatusOK)
	require.Equal(t, "application/pdf", pdf.Response.Header.Get("Content-Type"))
	for _, want := range []string{"/StructTreeRoot", "/Outlines", "/ToUnicode", "Calculation package 1N-1"} {
		require.Contains(t, pdf.Body, want)
	}
	require.GreaterOrEqual(t, paper.Pages([]byte(pdf.Body)), 5)
	if text := textOf(t, []byte(pdf.Body)); text != "" {
		for _, want := range []string{"Read this first", "Survey map", "Design revision 1", "Calculation sheet, 1N-1", "Review", "Stud map", "For signature, of", "counts only with its signatures", "Page 1 of"} {
			require.Contains(t, text, want)
		}
		require.NotContains(t, text, "UNSIGNED")
	}

	p.sign(designer, 1).LeadsTo(p.Path("documents", "1"))
	p.sign(p.Role(authz.Engineer), 1, "meaning", "checked").LeadsTo(p.Path("documents", "1"))
	second := p.As(authz.Engineer)
	p.sign(second, 1, "meaning", "approved").LeadsTo(p.Path("documents", "1"))
	engineer.Get(p.Path("documents", "1")).Status(http.StatusOK).Has("signed as approved", second.User.Name)
	require.Equal(t, pdf.Body, engineer.Get(p.Path("documents", "1", "file")).Body, "signing changes no byte")

	dir := t.TempDir()
	all := engineer.Get(p.Path("documents", "1", "all.zip")).Status(http.StatusOK)
	z, err := zip.NewReader(strings.NewReader(all.Body), int64(len(all.Body)))
	require.NoError(t, err)
	for _, f := range z.File {
		r, err := f.Open()
		require.NoError(t, err)
		data, err := io.ReadAll(r)
		require.NoError(t, err)
		require.NoError(t, os.WriteFile(filepath.Join(dir, f.Name), data, 0o600))
	}
	checked := 0
	for _, line := range regexp.MustCompile(`(?m)^(openssl|sha256sum) .*$`).FindAllString(readFile(t, dir, "CHECK.txt"), -1) {
		words := strings.Fields(line)
		if _, err := exec.LookPath(words[0]); err != nil {
			continue
		}
		cmd := exec.Command(words[0], words[1:]...)
		cmd.Dir = dir
		out, err := cmd.CombinedOutput()
		require.NoError(t, err, "%s\n%s", line, out)
		checked++
	}
	if _, err := exec.LookPath("openssl"); err == nil {
		require.Equal(t, 5, checked, "the digest, the document, three statements")
		bad := filepath.Join(dir, "0001-calculation-1N-1.pdf")
		require.NoError(t, os.WriteFile(bad, append([]byte(pdf.Body), '\n'), 0o600))
		line := regexp.MustCompile(`(?m)^openssl .* 0001-calculation-1N-1.pdf$`).FindString(readFile(t, dir, "CHECK.txt"))
		require.NotEmpty(t, line)
		words := strings.Fields(line)
		cmd := exec.Command(words[0], words[1:]...)
		cmd.Dir = dir
		require.Error(t, cmd.Run(), "one byte more and the signature does not fit")
	}
	engineer.Get(p.Path("documents", "key")).Status(http.StatusOK).Has("-----BEGIN PUBLIC KEY-----", "in use")
	engineer.Get(p.Path("ends", "1N-1", "history")).Has("Document made", "Document signed")

	// The record moves on: the document stays, marked, and takes no signature any more.
	p.Do(authz.Inspector, "1N-1", asCleaned(0.4))
	engineer.Get(p.Path("documents", "1")).Has("signed as approved, out of date", "byte for byte")
	engineer.Get(p.Path("ends", "1N-1", "documents")).Has("out of date")
	require.Equal(t, pdf.Body, engineer.Get(p.Path("documents", "1", "file")).Body)
	v, err := p.Store.Verify(p.ctx)
	require.NoError(t, err)
	require.Empty(t, v.Differences)
	require.Equal(t, []int{1, 3}, []int{v.Documents, v.Signatures})
}

func readFile(t testing.TB, dir, name string) string {
	t.Helper()
	data, err := os.ReadFile(filepath.Join(dir, name))
	require.NoError(t, err)
	return string(data)
}

// textOf is the text of a PDF as a common tool finds it; "" where there is no such tool.
func textOf(t testing.TB, pdf []byte) string {
	t.Helper()
	if _, err := exec.LookPath("pdftotext"); err != nil {
		return ""
	}
	name := filepath.Join(t.TempDir(), "x.pdf")
	require.NoError(t, os.WriteFile(name, pdf, 0o600))
	out, err := exec.Command("pdftotext", "-layout", name, "-").Output()
	require.NoError(t, err)
	return strings.Join(strings.Fields(string(out)), " ")
}

func TestUnsignedPrintSaysSoOnEveryPageAndIsNotKept(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	p.approved("1N-1")
	before := p.entries()
	pdf := p.Role(authz.Manager).Post(p.Path("ends", "1N-1", "documents", "print"), "kind", repair.PaperCalculation).Status(http.StatusOK)
	require.Contains(t, pdf.Response.Header.Get("Content-Disposition"), "calculation-1N-1-unsigned.pdf")
	if text := textOf(t, []byte(pdf.Body)); text != "" {
		require.Equal(t, paper.Pages([]byte(pdf.Body))+1, strings.Count(text, "UNSIGNED, of"), "each page, and once more the cover")
		require.Regexp(t, `UNSIGNED, of \d{4}-\d\d-\d\d \d\d:\d\d \S+, journal entry \d+, [0-9a-f]{12}`, text)
	}
	require.Equal(t, before, p.entries())
	pdf = p.Role(authz.Manager).Post(p.Path("documents", "print"), "kind", repair.PaperProgram).Status(http.StatusOK)
	if text := textOf(t, []byte(pdf.Body)); text != "" {
		for _, want := range []string{"Program package", "Index of ends", "1F-2", "UNSIGNED, of"} {
			require.Contains(t, text, want)
		}
	}
	require.Equal(t, before, p.entries())
}

func TestDocumentSaysWhatIsMissing(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	engineer := p.Role(authz.Engineer)
	engineer.Get(p.Path("ends", "1N-2", "documents")).Status(http.StatusOK).Has("No survey is on record", "No design revision is on record", "The end is not closed: the next step is").Lacks("Make for signing")
	for _, act := range []string{"documents", "documents/print"} {
		path := p.Path("ends", "1N-2") + "/" + act
		engineer.Post(path, "entry", newEntryID(), "kind", repair.PaperCalculation).Status(http.StatusUnprocessableEntity).Has("cannot be made yet: no survey is on record")
		engineer.Post(path, "entry", newEntryID(), "kind", "poem").Status(http.StatusUnprocessableEntity).Has("&#34;poem&#34; is none")
	}
	p.Role(authz.Manager).Post(p.Path("ends", "1N-2", "documents"), "entry", newEntryID(), "kind", repair.PaperCalculation).Status(http.StatusForbidden)
}

func TestServerWithoutABrowserSaysSoAndStillServesDocuments(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t, func(c *web.Config) { c.Chromium = paper.Off })
	p.approved("1N-1")
	n := p.document("1N-1", repair.PaperCalculation, []byte("%PDF-1.4 kept from before"))
	engineer := p.Role(authz.Engineer)
	engineer.Get(p.Path("ends", "1N-1", "documents")).Status(http.StatusOK).Has("switched off here", "can be printed").Lacks("Make for signing")
	engineer.Post(p.Path("ends", "1N-1", "documents"), "entry", newEntryID(), "kind", repair.PaperCalculation).Status(http.StatusServiceUnavailable).Has("switched off here")
	require.Equal(t, "%PDF-1.4 kept from before", engineer.Get(p.Path("documents", strconv.Itoa(n), "file")).Status(http.StatusOK).Body)
	p.sign(engineer, n).Status(http.StatusSeeOther)
}

func TestWhoMaySignAsWhat(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	p.approved("1N-1")
	n := p.document("1N-1", repair.PaperCalculation, []byte("%PDF-1.4 a"))
	p.sign(p.Role(authz.Designer), n, "meaning", "approved").Status(http.StatusForbidden)
	p.sign(p.Role(authz.Designer), n, "meaning", "as_built").Status(http.StatusForbidden)
	p.sign(p.Role(authz.Designer), n, "meaning", "").Status(http.StatusUnprocessableEntity).Has("Say what you sign it as")
	p.sign(p.Role(authz.Manager), n).Status(http.StatusForbidden)
	p.sign(p.Role(authz.Laboratory), n).Status(http.StatusForbidden)
	p.sign(p.Role(authz.Engineer), n).Status(http.StatusSeeOther)
	p.sign(p.Role(authz.Engineer), n, "meaning", "approved", "sha256", p.paper(n).SHA256).Status(http.StatusUnprocessableEntity)
	p.sign(p.As(authz.Engineer), n, "meaning", "approved", "sha256", strings.Repeat("0", 64)).Status(http.StatusConflict)
	require.Len(t, p.paper(n).Signatures, 1)
	p.verified()
}

func (p *testProgram) paper(n int) db.Paper {
	p.t.Helper()
	out, err := p.Store.Paper(p.ctx, p.ID, n)
	require.NoError(p.t, err)
	return out
}

func TestWrongPasswordSignsNothingAndPausesTheAccount(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	p.approved("1N-1")
	n := p.document("1N-1", repair.PaperCalculation, []byte("%PDF-1.4 a"))
	engineer := p.Role(authz.Engineer)
	for range 8 {
		a := p.sign(engineer, n, "password", "not this one, surely", "meaning", "checked").Status(http.StatusUnprocessableEntity).Has("The password is not that of your account")
		require.Equal(t, "", webtest.Attr(a.Select("[name=password]")[0], "value"))
		require.Len(t, a.Select("[name=meaning][value=checked][checked]"), 1, "what was chosen stays")
	}
	p.sign(engineer, n).Status(http.StatusTooManyRequests).Has("Signing is paused")
	require.Empty(t, p.paper(n).Signatures)
	require.NoError(t, p.People.LoginSucceeded(p.ctx, engineer.User.ID))
	p.sign(engineer, n).Status(http.StatusSeeOther)
	p.sign(engineer, n).Status(http.StatusTooManyRequests) // ten attempts within a minute are the most
	require.Len(t, p.paper(n).Signatures, 1)
}

func TestShutAccountSignsNothing(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	p.approved("1N-1")
	n := p.document("1N-1", repair.PaperCalculation, []byte("%PDF-1.4 a"))
	engineer := p.Role(authz.Engineer)
	sha := p.paper(n).SHA256
	require.NoError(t, p.People.Disable(p.ctx, engineer.User.ID, time.Now()))
	engineer.Post(p.Path("documents", strconv.Itoa(n), "sign"), "entry", newEntryID(), "sha256", sha, "meaning", "checked", "password", webtest.Password).Status(http.StatusUnauthorized)
	require.Empty(t, p.paper(n).Signatures)
}

// What moves between print and signature is found at the door, also where it moves between
// the page and the form, and where a signature and an edit arrive at once.
func TestSigningRefusesWhatHasMoved(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	p.approved("1N-1")
	n := p.document("1N-1", repair.PaperCalculation, []byte("%PDF-1.4 a"))
	sha := p.paper(n).SHA256
	engineer := p.Role(authz.Engineer)
	post := func() *webtest.Answer {
		return engineer.Post(p.Path("documents", strconv.Itoa(n), "sign"), "entry", newEntryID(), "sha256", sha, "meaning", "checked", "password", webtest.Password)
	}
	p.Do(authz.Inspector, "1N-1", repair.AddPhoto{Bytes: picture(t, 3), Caption: "a photograph moves no number"})
	post().Status(http.StatusConflict).Has("later entries of this end than entry")
	engineer.Get(p.Path("documents", strconv.Itoa(n))).Lacks("out of date")
	n = p.document("1N-1", repair.PaperCalculation, []byte("%PDF-1.4 b"))
	sha = p.paper(n).SHA256
	p.DoProgram(authz.Engineer, repair.EditBasis{Key: string(basis.SurveyReach), Value: 80, Typed: "80 mm", Source: "a setting of the whole program"})
	post().Status(http.StatusConflict).Has("The record moved on")
	require.Empty(t, p.paper(n).Signatures)

	n = p.document("1N-1", repair.PaperCalculation, []byte("%PDF-1.4 c"))
	sha = p.paper(n).SHA256
	var wait sync.WaitGroup
	var signed int
	wait.Go(func() { signed = post().Response.StatusCode })
	wait.Go(func() { p.Do(authz.Inspector, "1N-1", asCleaned(0.4)) })
	wait.Wait()
	got := p.paper(n)
	if signed == http.StatusSeeOther {
		require.Len(t, got.Signatures, 1)
		var sign, survey int64
		require.NoError(t, p.Pool.QueryRow(p.ctx, "select max(seq) filter (where kind = 'document.sign'), max(seq) filter (where kind = 'survey.record') from journal").Scan(&sign, &survey))
		require.Less(t, sign, survey, "it was signed before the record moved")
	} else {
		require.Equal(t, http.StatusConflict, signed)
		require.Empty(t, got.Signatures)
	}
	p.verified()
}

func TestSignatureSentTwiceCountsOnce(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	p.approved("1N-1")
	n := p.document("1N-1", repair.PaperCalculation, []byte("%PDF-1.4 a"))
	engineer, sha, id := p.Role(authz.Engineer), p.paper(n).SHA256, newEntryID()
	for range 2 {
		engineer.Post(p.Path("documents", strconv.Itoa(n), "sign"), "entry", id, "sha256", sha, "meaning", "checked", "password", webtest.Password).Status(http.StatusSeeOther)
	}
	require.Len(t, p.paper(n).Signatures, 1)
}

// Whoever writes to the database behind the program's back is found out.
func TestVerifyFindsTamperedDocuments(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	p.approved("1N-1")
	n := p.document("1N-1", repair.PaperCalculation, []byte("%PDF-1.4 the bytes that were signed"))
	p.sign(p.Role(authz.Engineer), n).Status(http.StatusSeeOther)
	p.verified()
	_, err := p.Pool.Exec(p.ctx, "update raw_file set bytes = 'x'")
	require.ErrorContains(t, err, "stays as it is")
	found := func(want string) {
		t.Helper()
		v, err := p.Store.Verify(p.ctx)
		require.NoError(t, err)
		var all []string
		for _, d := range v.Differences {
			all = append(all, d.Where+": "+d.What)
		}
		require.Contains(t, strings.Join(all, "\n"), want)
	}
	tamper := func(table, set string) {
		t.Helper()
		for _, q := range []string{"alter table " + table + " disable trigger user", "update " + table + " set " + set, "alter table " + table + " enable trigger user"} {
			_, err := p.Pool.Exec(p.ctx, q)
			require.NoError(t, err)
		}
	}
	tamper("raw_file", "bytes = 'other bytes that nobody signed....'")
	found("its bytes are not those on record")
	found("the signature does not fit the bytes of the document")
	_, err = p.Store.PaperFile(p.ctx, p.paper(n).Document)
	require.ErrorIs(t, err, fault.Internal, "damaged bytes are never served")
	p.Role(authz.Engineer).Get(p.Path("documents", strconv.Itoa(n), "file")).Status(http.StatusInternalServerError)
	tamper("signature", "statement = replace(statement, 'prepared', 'approved')")
	found("the signature does not fit the statement")
	tamper("signature", "by_name = 'Somebody Else'")
	found("the statement is not what the record says")
}

func TestRotatedKeyStillChecksWhatItSigned(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	p.approved("1N-1")
	n := p.document("1N-1", repair.PaperCalculation, []byte("%PDF-1.4 a"))
	p.sign(p.Role(authz.Designer), n).Status(http.StatusSeeOther)
	_, err := p.Store.RotateSigningKey(p.ctx)
	require.NoError(t, err)
	p.sign(p.Role(authz.Engineer), n, "meaning", "checked").Status(http.StatusSeeOther)
	signed := p.paper(n).Signatures
	require.NotEqual(t, signed[0].KeyID, signed[1].KeyID)
	p.verified()
	p.Role(authz.Manager).Get(p.Path("documents", "key")).Has("in use", "retired", signed[0].KeyID, signed[1].KeyID)
	var secrets int
	require.NoError(t, p.Pool.QueryRow(p.ctx, "select count(seed) from signing_key").Scan(&secrets))
	require.Equal(t, 1, secrets, "the secret part of a retired key is forgotten")
}

func TestDocumentPages(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	p.approved("1N-1")
	n := p.document("1N-1", repair.PaperCalculation, []byte("%PDF-1.4 a"))
	p.sign(p.Role(authz.Designer), n).Status(http.StatusSeeOther)
	page := p.Browser(authz.Engineer)
	p.Look(page, p.Path("documents"), "documents")
	p.Look(page, p.Path("ends", "1N-1", "documents"), "documents-end")
	p.Look(page, p.Path("ends", "1N-2", "documents"), "documents-missing")
	p.Look(page, p.Path("documents", strconv.Itoa(n)), "document")
	page.Fill("[name=password]", "not this one, surely")
	page.Click("[name=meaning][value=checked]")
	require.Equal(t, http.StatusUnprocessableEntity, page.Submit(".paper-sign button[type=submit]"))
	page.Axe(t)
	page.Screenshot("document-refused")
}
