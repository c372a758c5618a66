package web_test

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"endcast/internal/domain/authz"
	"endcast/internal/web/browsertest"
)

// standAt stands at an end of the tablet.
func standAt(page *browsertest.Page, end string) {
	goTo(page, "#/end/"+end)
	page.Click("#yes")
	page.WaitFor(`document.querySelector(".t-drawing svg")`)
}

// fillUp bounds the storage and waits until the browser holds to it: it reckons with
// the room it knew for up to half a minute.
func fillUp(page *browsertest.Page, bytes float64) {
	page.Quota(bytes)
	for range 4 {
		if browsertest.Eval[bool](page, `new Promise(done => {
			const end = performance.now() + 45000, open = indexedDB.open("probe", 1);
			open.onupgradeneeded = () => open.result.createObjectStore("s");
			open.onerror = () => done(open.error.name === "QuotaExceededError");
			open.onsuccess = () => { const db = open.result; const finish = (v) => { db.close(); done(v); }; const look = () => {
				const tx = db.transaction("s", "readwrite");
				tx.objectStore("s").put("x", Math.random());
				tx.onabort = () => finish(true);
				tx.oncomplete = () => performance.now() > end ? finish(false) : setTimeout(look, 100);
			}; look(); };
		})`) {
			return
		}
	}
}

// The tablet's storage fills up: what is typed still finds the room that was laid aside,
// and it is said; pictures are refused; where nothing fits any more, nothing typed is
// lost, and the same press records it once there is room.
func TestFullStorageLosesNothing(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	studs := p.approvedLayout("1N-1")
	page := p.Browser(authz.Inspector)
	p.onShift(page, "1N-1")
	standAt(page, "1N-1")
	page.WaitFor(`indexedDB.databases().then(all => all.some(d => d.name === "endcast-small-reserve"))`)
	page.Offline(true)
	require.NotContains(t, page.Text(".t-head"), "Room is short")

	used := browsertest.Eval[float64](page, `navigator.storage.estimate().then(e => e.usage)`)
	fillUp(page, used-1000)
	note(page, "1N-1", "typed when there was no room")
	page.WaitFor(`document.querySelector(".t-head").innerText.includes("Room is short on this tablet")`)
	require.Len(t, outbox(page), 1, "the reserve was given up for it")
	big := filepath.Join(t.TempDir(), "big.jpg")
	require.NoError(t, os.WriteFile(big, snapshot(5, 1<<20), 0o600))
	goTo(page, "#/end/1N-1/photo")
	page.Attach("#f-photo", big)
	page.WaitFor(`/no room left/.test(document.querySelector("main").innerText)`)
	require.Len(t, outbox(page), 1, "what is left is for what is typed")

	// Nothing fits any more.
	fillUp(page, 1)
	text := "the ladder at the pier is loose"
	goTo(page, "#/end/1N-1/check/note")
	page.Fill("[name=note]", text)
	page.Click("#record")
	page.WaitFor(`document.querySelector("#why").innerText.includes("no room left on this tablet")`)
	require.Len(t, outbox(page), 1)
	require.Equal(t, text, browsertest.Eval[string](page, `document.querySelector("[name=note]").value`), "what was typed is still there")
	page.Screenshot("tablet-full")

	goTo(page, "#/end/1N-1/stud/"+studs[0].Mark)
	page.Click(`.tick:has([value=rejected])`)
	page.Fill("[name=note]", "torn off")
	page.Click("#record")
	page.WaitFor(`document.querySelector("#why").innerText.includes("no room left on this tablet")`)
	require.True(t, browsertest.Eval[bool](page, `document.querySelector("[value=rejected]").checked && document.querySelector("[name=note]").value === "torn off"`))
	require.Len(t, outbox(page), 1)

	// Room again.
	page.Quota(-1)
	page.Click("#record")
	page.WaitFor(`document.querySelector("#n-queued strong").textContent === "2"`)
	page.Offline(false)
	page.Click("#send")
	waitQueue(t, page, 0)
	page.WaitFor(`!document.querySelector(".t-head").innerText.includes("Room is short")`)
	r := p.End("1N-1")
	require.Len(t, r.Collars, 1)
	require.Len(t, r.Inspections, 1)
	require.Empty(t, r.Photos)
}

// Where the browser does not promise to keep the store, the page says so on every
// screen.
func TestRefusedPersistenceIsSaid(t *testing.T) {
	t.Parallel()
	p := newTestProgram(t)
	page := p.Browser(authz.Inspector)
	p.onShift(page, "1N-1")
	page.WaitFor(`document.querySelector("#keeping li")`)
	if browsertest.Eval[bool](page, `navigator.storage.persisted()`) {
		page.WaitFor(`document.querySelector("#keeping").innerText.includes("The browser keeps what is stored here")`)
		require.NotContains(t, page.Text(".t-head"), "not promised")
		return
	}
	page.WaitFor(`document.querySelector("#keeping").innerText.includes("may clear what is stored here")`)
	page.WaitFor(`document.querySelector(".t-head").innerText.includes("Storage is not promised")`)
	goTo(page, "#/outbox")
	require.Contains(t, page.Text(".t-head"), "Storage is not promised", "on each screen")
}
