package web_test

import (
	"bytes"
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"testing"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/authz"
	"endcast/internal/web"
	"endcast/internal/web/browsertest"
	"endcast/internal/web/webtest"
)

// shaky is a server behind a bad connection, for what tablets send: of each four
// requests one is refused before it is looked at, one is carried out and its answer
// lost, one is carried out twice, and one is answered.
type shaky struct {
	http.Handler
	on   atomic.Bool
	n    atomic.Int64
	lost atomic.Int64
}

func (s *shaky) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	if !s.on.Load() || r.Method != http.MethodPost || !strings.Contains(r.URL.Path, "/tablet/") {
		s.Handler.ServeHTTP(w, r)
		return
	}
	body, err := io.ReadAll(r.Body)
	if err != nil {
		w.WriteHeader(http.StatusBadRequest)
		return
	}
	once := func(w http.ResponseWriter) {
		q := r.Clone(r.Context())
		q.Body = io.NopCloser(bytes.NewReader(body))
		s.Handler.ServeHTTP(w, q)
	}
	switch s.n.Add(1) % 4 {
	case 1:
		s.lost.Add(1)
		w.WriteHeader(http.StatusServiceUnavailable)
	case 2:
		s.lost.Add(1)
		once(httptest.NewRecorder())
		panic(http.ErrAbortHandler) // the connection breaks before the answer
	case 3:
		once(httptest.NewRecorder())
		once(w)
	default:
		once(w)
	}
}

// queued is an entry as the tablet keeps it.
type queued struct {
	ID, State, Kind, Raw string
	Seq                  int
	Photo                bool
}

// outbox reads the tablet's own store, as it lies there.
func outbox(page *browsertest.Page) []queued {
	return browsertest.Eval[[]queued](page, `new Promise((done, fail) => {
		const open = indexedDB.open("endcast-small");
		open.onerror = () => fail(open.error);
		open.onsuccess = () => {
			const all = open.result.transaction("outbox").objectStore("outbox").index("seq").getAll();
			all.onsuccess = () => { open.result.close(); done(all.result.map(e => ({ID: e.id, State: e.state, Kind: e.kind, Raw: e.raw, Seq: e.seq, Photo: e.photo}))) };
		};
	})`)
}

// waitQueue waits until the head of the page counts so many entries, looking for as
// long as something moves.
func waitQueue(t testing.TB, page *browsertest.Page, want int) {
	t.Helper()
	was := -1
	for {
		left := browsertest.Eval[int](page, `new Promise(done => { const end = performance.now() + 40000; const look = () => {
			const n = Number(document.querySelector("#n-queued strong")?.textContent.replace("–", "-1") ?? -1);
			if (n === `+fmt.Sprint(want)+` || performance.now() > end) done(n); else setTimeout(look, 50);
		}; look(); })`)
		if left == want {
			return
		}
		require.NotEqual(t, was, left, "nothing moves: %s", page.Text(".t-head"))
		was = left
	}
}

// note records a short note at the end where the tablet's holder stands.
func note(page *browsertest.Page, end, text string) {
	goTo(page, "#/end/"+end+"/check/note")
	browsertest.Eval[bool](page, fmt.Sprintf(`(() => { document.querySelector("[name=note]").value = %q; document.querySelector("#record").click(); return true })()`, text))
	page.WaitFor(fmt.Sprintf(`decodeURIComponent(location.hash) === "#/end/%s" && document.querySelector("#entered")`, end))
}

// A whole shift without signal: 40 entries and 20 pictures, the browser killed in the
// middle, the session over meanwhile, then sent through a connection that loses every
// second answer. Everything arrives exactly once, in its order, byte for byte.
func TestWholeShiftWithoutSignal(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	studs := p.approvedLayout("1N-1")
	inspector := p.Role(authz.Inspector)
	net := &shaky{Handler: p.Handler}
	page := browsertest.NewOwn(t, net)
	page.UseCookies(inspector.Cookies()...)
	p.onShift(page.Page, "1N-1,1N-2")
	goTo(page.Page, "#/end/1N-1")
	page.Click("#yes")
	page.WaitFor(`document.querySelector(".t-drawing svg")`)

	page.Offline(true)
	before := p.entries()
	// One tap a stud, one to record them.
	goTo(page.Page, "#/end/1N-1/studs")
	for _, st := range studs[:len(studs)-1] {
		page.Click(`[data-mark="` + st.Mark + `"]`)
		page.WaitFor(`document.querySelector('[data-mark="` + st.Mark + `"]').classList.contains("pencil")`)
	}
	page.Click("#record")
	waitQueue(t, page.Page, len(studs)-1)
	// The last one has a gap.
	goTo(page.Page, "#/end/1N-1/stud/"+studs[len(studs)-1].Mark)
	page.Click(`.tick:has([value=gap])`)
	page.Click(`.hour.h4`)
	page.Fill("[name=gap_length]", "3/8")
	page.WaitFor(`document.querySelector("#repairs").innerText.includes("toward 10 o'clock")`)
	require.Contains(t, page.Text("#repairs"), "1.125\u00a0in long", "the gap and 3/8 in. past each end: AWS D1.1, read second-hand")
	page.Click("#record")
	waitQueue(t, page.Page, len(studs))

	dir := t.TempDir()
	var files, hashes []string
	for i := range 20 {
		data := snapshot(uint64(100+i), 120<<10+i)
		name := filepath.Join(dir, fmt.Sprintf("p%02d.jpg", i))
		require.NoError(t, os.WriteFile(name, data, 0o600))
		files, hashes = append(files, name), append(hashes, hashOf(data))
	}
	goTo(page.Page, "#/end/1N-1/photo")
	page.Attach("#f-photo", files[:10]...)
	waitQueue(t, page.Page, len(studs)+10)

	n := len(studs) + 10
	for i := range 12 {
		note(page.Page, "1N-1", fmt.Sprintf("note %d of the shift", i))
		n++
	}
	waitQueue(t, page.Page, n)
	first := outbox(page.Page)
	require.Len(t, first, n)

	// The battery dies in the middle of a survey.
	goTo(page.Page, "#/end/1N-1/survey")
	page.Click("#begin")
	page.WaitFor(`document.querySelector("#next")`)
	page.Click(`[data-key="2"]`)
	page.Click(`[data-key="9"]`)
	page.Click("#next")
	page.WaitFor(`document.body.dataset.ready === "#/end/1N-1/survey/2"`)
	page.Kill()
	page.Offline(true)
	require.Equal(t, http.StatusOK, page.Open(p.Path("tablet")), "the page opens without signal")
	waitQueue(t, page.Page, n)
	require.Equal(t, first, outbox(page.Page), "not a byte is lost")
	goTo(page.Page, "#/end/1N-1/survey")
	require.Contains(t, page.Text("main"), "1 of 64 places read", "what was begun is there as well")
	page.Click("#record")
	n++
	waitQueue(t, page.Page, n)

	goTo(page.Page, "#/end/1N-1/photo")
	page.Attach("#f-photo", files[10:]...)
	n += 10
	waitQueue(t, page.Page, n)
	for i := 0; n < 60; i++ {
		note(page.Page, "1N-1", fmt.Sprintf("note %d after the battery", i))
		n++
	}
	waitQueue(t, page.Page, 60)
	sent := outbox(page.Page)
	require.Equal(t, before, p.entries(), "nothing reached the server")

	// Signal again, but the session is over: nothing is lost and nothing is sent.
	net.on.Store(true)
	page.Offline(false)
	page.WaitFor(`document.querySelector('.t-ways a[href^="/login"]:not([hidden])')`)
	require.Equal(t, before, p.entries())
	require.Len(t, outbox(page.Page), 60)
	page.Submit(`.t-ways a[href^="/login"]:not([hidden])`)
	page.Fill("[name=email]", inspector.User.Email)
	page.Fill("[name=password]", webtest.Password)
	page.Submit("main button[type=submit]")
	page.WaitFor(`document.querySelector("#n-queued")`)
	waitQueue(t, page.Page, 0)
	require.Positive(t, net.lost.Load())

	// Exactly once, in order.
	got := outbox(page.Page)
	for i, e := range got {
		require.Equal(t, sent[i].ID, e.ID)
		require.Equal(t, "stored", e.State, e.Raw)
	}
	rows, err := p.Pool.Query(p.ctx, `select j.entry_id::text, t.raw from journal j join tablet_entry t on t.id = j.entry_id order by j.seq`)
	require.NoError(t, err)
	var order []string
	raw := map[string]string{}
	for rows.Next() {
		var id string
		var text []byte
		require.NoError(t, rows.Scan(&id, &text))
		order, raw[id] = append(order, id), string(text)
	}
	require.NoError(t, rows.Err())
	var want []string
	for _, photo := range []bool{false, true} { // text before pictures
		for _, e := range sent {
			if e.Photo == photo {
				want = append(want, e.ID)
			}
			require.Equal(t, e.Raw, raw[e.ID], "word for word")
		}
	}
	require.Equal(t, want, order)
	require.Equal(t, before+60, p.entries())
	r := p.End("1N-1")
	require.Len(t, r.Collars, len(studs))
	require.Len(t, r.Photos, 20)
	var kept []string
	for _, ph := range r.Photos {
		kept = append(kept, ph.SHA256)
	}
	slices.Sort(kept)
	slices.Sort(hashes)
	require.Equal(t, hashes, kept)
	require.Equal(t, 2, r.LatestSurvey().Number)
	require.True(t, r.State[0].OutOfDate, "the reading took effect on arrival")
	left := browsertest.Eval[int](page.Page, `new Promise(done => { const o = indexedDB.open("endcast-small"); o.onsuccess = () => { const c = o.result.transaction("blobs").objectStore("blobs").count(); c.onsuccess = () => { o.result.close(); done(c.result) } } })`)
	require.Zero(t, left, "originals leave the tablet once the server has confirmed them")
	p.verified()
}

// What the tablet says is permitted is what the record's own rule says.
func TestPermittedRepairOnTheTabletIsTheRecordsOwn(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	studs := p.approvedLayout("1N-1")
	page := p.Browser(authz.Inspector)
	p.onShift(page, "1N-1")
	page.Open(p.Path("tablet") + "?end=1N-1")
	page.WaitFor(`document.body.dataset.ready === "#/end/1N-1" || document.body.dataset.ready === ""`)
	for _, x := range []struct {
		clock  int
		length string
	}{{12, "1/4"}, {1, "3/8"}, {6, "1-1/4"}, {7, "0.5"}, {11, "12.7 mm"}} {
		goTo(page, "#/end/1N-1/stud/"+studs[0].Mark)
		page.Click(`.tick:has([value=gap])`)
		page.Click(fmt.Sprintf(`.hour.h%d`, x.clock))
		page.Fill("[name=gap_length]", x.length)
		page.WaitFor(`document.querySelector("#repairs strong")`)
		plain := strings.NewReplacer("\u00a0", " ")
		shown := plain.Replace(page.Text("#repairs"))
		own := p.Role(authz.Inspector).Get(p.Path("ends", "1N-1", "collars", studs[0].Mark) + fmt.Sprintf("?outcome=gap&gap_clock=%d&gap_length=%s", x.clock, strings.ReplaceAll(x.length, " ", "%20")))
		for _, dd := range own.Select("#repairs dd") {
			figure := strings.TrimSuffix(plain.Replace(webtest.Text(dd)), "°")
			require.Contains(t, shown, strings.TrimSpace(figure), "gap of %s at %d", x.length, x.clock)
		}
		require.NotEmpty(t, own.Select("#repairs dd"))
	}
}

// swap is a handler that can be exchanged, as by an update of the program.
type swap struct {
	mu sync.Mutex
	h  http.Handler
}

func (x *swap) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	x.mu.Lock()
	h := x.h
	x.mu.Unlock()
	h.ServeHTTP(w, r)
}

// A new version of the program comes while entries wait: nothing of them moves, the
// new page is offered, used, and sends them.
func TestUpdateOfTheProgramLosesNothing(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	p.approvedLayout("1N-1")
	next, err := web.New(web.Config{Pool: p.Pool, BaseURL: webtest.Base, Release: "the next"})
	require.NoError(t, err)
	t.Cleanup(next.Close)
	h := &swap{h: p.Handler}
	page := browsertest.New(t, h)
	page.UseCookies(p.Role(authz.Inspector).Cookies()...)
	p.onShift(page, "1N-1")
	version := browsertest.Eval[string](page, "document.body.dataset.version")
	goTo(page, "#/end/1N-1")
	page.Click("#yes")
	page.WaitFor(`document.querySelector(".t-drawing svg")`)
	page.Offline(true)
	for i := range 3 {
		note(page, "1N-1", fmt.Sprintf("note %d", i))
	}
	was := outbox(page)
	require.Len(t, was, 3)
	h.mu.Lock()
	h.h = next.Handler()
	h.mu.Unlock()
	// The update is found while entries are still kept back by a lock of the test.
	browsertest.Eval[bool](page, `(navigator.locks.request("send-/p/small", () => new Promise(done => { window.letGo = done })), true)`)
	page.WaitFor(`window.letGo`)
	page.Offline(false)
	browsertest.Eval[bool](page, `navigator.serviceWorker.getRegistration().then(r => r.update()).then(() => true)`)
	page.WaitFor(`document.body.dataset.update === "ready"`)
	require.Equal(t, version, browsertest.Eval[string](page, "document.body.dataset.version"), "the page in use stays until its reader says so")
	require.Equal(t, was, outbox(page))
	page.Submit("#t-update button")
	page.WaitFor(`document.body.dataset.version?.endsWith("the next")`)
	waitQueue(t, page, 0)
	for i, e := range outbox(page) {
		require.Equal(t, was[i].Raw, e.Raw)
		require.Equal(t, "stored", e.State)
	}
	require.Len(t, p.End("1N-1").Inspections, 3)
}

// A picture that cannot be taken is said on the tablet at once.
func TestTabletSaysWhatItCannotTake(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	studs := p.approvedLayout("1N-1")
	page := p.Browser(authz.Inspector)
	p.onShift(page, "1N-1")
	goTo(page, "#/end/1N-1")
	page.Click("#yes")
	page.WaitFor(`document.querySelector(".t-drawing svg")`)
	goTo(page, "#/end/1N-1/photo")
	dir := t.TempDir()
	big, text := filepath.Join(dir, "big.jpg"), filepath.Join(dir, "text.jpg")
	require.NoError(t, os.WriteFile(big, snapshot(9, 50<<20), 0o600))
	require.NoError(t, os.WriteFile(text, []byte("no picture"), 0o600))
	page.Attach("#f-photo", big, text)
	page.WaitFor(`document.querySelector("#why").innerText.includes("text.jpg is no JPEG")`)
	require.Contains(t, page.Text("#why"), "big.jpg has 50.0 MB; at most 20 MB are taken")
	require.Empty(t, outbox(page))

	// A finding that the rules refuse comes back with its reason, and goes to the
	// engineer if the inspector says so.
	goTo(page, "#/end/1N-1/stud/"+studs[0].Mark)
	page.Click(`.tick:has([value=gap])`)
	page.Click(`.hour.h4`)
	page.Fill("[name=gap_length]", "9")
	page.Click("#record")
	require.Empty(t, page.Text("#why"))
	page.WaitFor(`document.querySelector("#n-refused strong").textContent === "1"`)
	goTo(page, "#/outbox")
	require.Contains(t, page.Text("main"), "at most")
	page.Click(`[data-entry] button:last-of-type`)
	page.WaitFor(`document.querySelector("#n-aside strong").textContent === "1"`)
	p.Role(authz.Engineer).Get(p.Path("aside")).Has("The rules do not take it", "at most")
	require.Empty(t, p.End("1N-1").Collars)
}

// Two people share a tablet: what one of them recorded is not sent under the other's
// name, and waits.
func TestTabletThatChangesHands(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	p.approvedLayout("1N-1")
	one, two := p.Role(authz.Inspector), p.As(authz.Inspector)
	page := p.Browser(authz.Inspector)
	p.onShift(page, "1N-1")
	goTo(page, "#/end/1N-1")
	page.Click("#yes")
	page.WaitFor(`document.querySelector(".t-drawing svg")`)
	page.Offline(true)
	note(page, "1N-1", "of the first")
	page.UseCookies(two.Cookies()...)
	page.Offline(false)
	page.Click("#send")
	page.WaitFor(`document.querySelector("#t-status").innerText.includes("Take the ends anew before you record")`)
	require.Contains(t, page.Text("#t-status"), "signs in here")
	require.Equal(t, "queued", outbox(page)[0].State)
	require.Empty(t, p.End("1N-1").Inspections)

	p.onShift(page, "1N-2")
	goTo(page, "#/end/1N-2")
	page.Click("#yes")
	page.WaitFor(`document.querySelector(".t-drawing svg")`)
	note(page, "1N-2", "of the second")
	waitQueue(t, page, 1)
	require.Equal(t, two.User.ID.String(), p.End("1N-2").Inspections[0].ByUser)
	page.UseCookies(one.Cookies()...)
	page.Click("#send")
	waitQueue(t, page, 0)
	require.Equal(t, one.User.ID.String(), p.End("1N-1").Inspections[0].ByUser)
}
