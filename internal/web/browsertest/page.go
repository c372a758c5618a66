package browsertest

import (
	"context"
	"encoding/json"
	"fmt"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"
)

// patience is how long a page may take for one step before the test fails.
const patience = 60 * time.Second

// Page is one tab on one server, in a profile of its own.
type Page struct {
	URL string // of the server, without a slash at the end

	t   testing.TB
	ctx context.Context

	mu       sync.Mutex
	problems []string
}

// New serves the handler and opens a tab on it. Both close with the test.
func New(t testing.TB, handler http.Handler) *Page {
	t.Helper()
	root, err := browser()
	require.NoError(t, err)
	server := httptest.NewServer(handler)
	t.Cleanup(server.Close)
	ctx, cancel := chromedp.NewContext(root, chromedp.WithNewBrowserContext())
	t.Cleanup(cancel)
	p := &Page{URL: server.URL, t: t, ctx: ctx}
	require.NoError(t, chromedp.Listen(ctx, p.listen))
	p.SetViewport(1280, 900)
	return p
}

// listen keeps what the page complains of: errors of scripts, refused resources.
func (p *Page) listen(ev any) {
	text := ""
	switch e := ev.(type) {
	case *runtime.EventExceptionThrown:
		text = e.ExceptionDetails.Text
		if x := e.ExceptionDetails.Exception; x != nil {
			text += " " + x.Description
		}
	case *log.EventEntryAdded:
		if e.Entry.Level == log.EntryLevelError {
			text = e.Entry.Text + " " + e.Entry.URL
		}
	}
	if text != "" {
		p.mu.Lock()
		p.problems = append(p.problems, text)
		p.mu.Unlock()
	}
}

// Problems returns what the page has complained of so far: uncaught errors of
// scripts, violations of the content policy, resources that did not load.
func (p *Page) Problems() []string {
	p.mu.Lock()
	defer p.mu.Unlock()
	return append([]string(nil), p.problems...)
}

// run does one step with the patience of a page.
func run[T any](p *Page, what string, a chromedp.Action[T]) T {
	p.t.Helper()
	ctx, cancel := context.WithTimeout(p.ctx, patience)
	defer cancel()
	v, err := chromedp.Run(ctx, a)
	require.NoError(p.t, err, what)
	return v
}

// Open loads a path and returns the status of the answer.
func (p *Page) Open(path string) int {
	p.t.Helper()
	res := run(p, "open "+path, chromedp.NavigateResponse(p.URL+path))
	require.NotNil(p.t, res, "open %s: no answer", path)
	return int(res.Status)
}

// Login signs in through the page, and waits for the page that follows.
func (p *Page) Login(email, password string) {
	p.t.Helper()
	p.Open("/login")
	p.Fill("[name=email]", email)
	p.Fill("[name=password]", password)
	p.Submit("main button[type=submit]")
}

// UseCookies gives the tab cookies, such as those of somebody signed in elsewhere.
func (p *Page) UseCookies(cookies ...*http.Cookie) {
	p.t.Helper()
	for _, c := range cookies {
		run(p, "set cookie "+c.Name, chromedp.Func(func(ctx context.Context, t *chromedp.Target) error {
			_, err := cdp.Call(ctx, t, network.SetCookie, network.SetCookieParams{Name: c.Name, Value: c.Value, URL: p.URL})
			return err
		}))
	}
}

// Fill replaces the value of a box with a text, as a person types it.
func (p *Page) Fill(selector, text string) {
	p.t.Helper()
	p.need(selector)
	Eval[bool](p, fmt.Sprintf(`(() => { const e = document.querySelector(%s); e.value = ""; return e.dispatchEvent(new Event("input", {bubbles: true})) })()`, quote(selector)))
	run(p, "fill "+selector, chromedp.SendKeys(chromedp.CSS(selector), text))
}

// Choose takes an option of a list by its value.
func (p *Page) Choose(selector, value string) {
	p.t.Helper()
	p.need(selector)
	Eval[bool](p, fmt.Sprintf(`(() => { const e = document.querySelector(%s); e.value = %s;
		e.dispatchEvent(new Event("input", {bubbles: true})); e.dispatchEvent(new Event("change", {bubbles: true})); return e.value === %[2]s })()`,
		quote(selector), quote(value)))
}

// Attach puts files into a file box.
func (p *Page) Attach(selector string, files ...string) {
	p.t.Helper()
	run(p, "attach to "+selector, chromedp.SetUploadFiles(chromedp.CSS(selector), files))
}

// Click presses something that leads to no other page.
func (p *Page) Click(selector string) {
	p.t.Helper()
	p.need(selector)
	run(p, "click "+selector, chromedp.Click(chromedp.CSS(selector), chromedp.NodeVisible))
}

// Submit presses something that leads to another page, waits until that has
// loaded, and returns the status of its answer.
func (p *Page) Submit(selector string) int {
	p.t.Helper()
	p.need(selector)
	ctx, cancel := context.WithTimeout(p.ctx, patience)
	defer cancel()
	res, err := chromedp.RunResponse(ctx, chromedp.Click(chromedp.CSS(selector), chromedp.NodeVisible))
	require.NoError(p.t, err, "submit %s", selector)
	return int(res.Status)
}

// need fails at once, with the page's text, where a selector finds nothing: far
// clearer than a step that runs out of time.
func (p *Page) need(selector string) {
	p.t.Helper()
	if !p.Exists(selector) {
		require.FailNow(p.t, "nothing matches "+selector, "on %s:\n%.800s", p.Path(), p.Text("body"))
	}
}

// Exists reports whether something on the page matches now.
func (p *Page) Exists(selector string) bool {
	p.t.Helper()
	return Eval[bool](p, "document.querySelector("+quote(selector)+") !== null")
}

// Text returns the text of the first match as a person sees it, or "".
func (p *Page) Text(selector string) string {
	p.t.Helper()
	return Eval[string](p, "document.querySelector("+quote(selector)+")?.innerText ?? ''")
}

// Path returns the path and query of the page.
func (p *Page) Path() string {
	p.t.Helper()
	return Eval[string](p, "location.pathname + location.search")
}

// Keys sends keys to whatever has the focus. Names of package chromedp/kb work.
func (p *Page) Keys(keys string) {
	p.t.Helper()
	run(p, "press keys", chromedp.KeyEvent(keys))
}

// Eval returns the value of an expression, waiting for it if it is a promise.
func Eval[T any](p *Page, expression string) T {
	p.t.Helper()
	return run(p, "evaluate "+expression, chromedp.Evaluate[T](expression, chromedp.EvalAwaitPromise))
}

// WaitFor waits until an expression is true, and fails the test if it stays false.
func (p *Page) WaitFor(expression string) {
	p.t.Helper()
	Eval[bool](p, fmt.Sprintf(`new Promise((done, fail) => {
		const end = performance.now() + %d;
		const look = () => {
			if (%s) return done(true);
			if (performance.now() > end) return fail(new Error("still not so: " + %s));
			setTimeout(look, 20);
		};
		look();
	})`, (patience*3/4).Milliseconds(), expression, quote(expression)))
}

// SetViewport sets the size of the tab in CSS pixels.
func (p *Page) SetViewport(width, height int) {
	p.t.Helper()
	run(p, "set viewport", chromedp.EmulateViewport(int64(width), int64(height)))
}

// SetDark makes the device prefer a dark ground, or a light one.
func (p *Page) SetDark(dark bool) {
	p.t.Helper()
	value := "light"
	if dark {
		value = "dark"
	}
	run(p, "set color scheme", chromedp.Func(func(ctx context.Context, t *chromedp.Target) error {
		_, err := cdp.Call(ctx, t, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{
			Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: value}}})
		return err
	}))
}

// Screenshot keeps a picture of the whole page as name.png in the folder that
// ENDCAST_SHOTS names; without that it does nothing.
func (p *Page) Screenshot(name string) {
	p.t.Helper()
	dir := os.Getenv("ENDCAST_SHOTS")
	if dir == "" {
		return
	}
	p.WaitFor("document.fonts.status === 'loaded'")
	require.NoError(p.t, os.MkdirAll(dir, 0o755))
	require.NoError(p.t, os.WriteFile(filepath.Join(dir, name+".png"), run(p, "take picture", chromedp.FullScreenshot(100)), 0o644))
}

// PDF prints the page on A4, or on letter paper.
func (p *Page) PDF(letter bool) []byte {
	p.t.Helper()
	size := chromedp.PaperA4
	if letter {
		size = chromedp.PaperLetter
	}
	return run(p, "print", chromedp.PrintToPDF(chromedp.PDFPaper(size)))
}

// Overflows returns the elements that stick out of the tab to the right: a page
// should scroll down only. Tables in their own scrolling frame do not count.
func (p *Page) Overflows() []string {
	p.t.Helper()
	return Eval[[]string](p, `(() => {
		if (document.documentElement.scrollWidth <= innerWidth) return [];
		return [...document.querySelectorAll("body *")]
			.filter(e => e.getBoundingClientRect().right > innerWidth + 1 && !e.closest(".table"))
			.map(e => e.tagName.toLowerCase() + "." + (e.getAttribute("class") ?? "")).slice(0, 20);
	})()`)
}

func quote(s string) string {
	b, _ := json.Marshal(s)
	return string(b)
}

func oneLine(s string) string { return strings.Join(strings.Fields(s), " ") }
