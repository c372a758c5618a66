// Package paper turns a page into a PDF, with Chromium as the one that sets it: the
// layout is the print style sheet that people's own browsers use too.
//
// A page comes whole, with its styles, fonts and pictures inside. The browser that
// prints it runs no script, reaches no network and no file, and ends with the print: one
// print at a time, within limits of time, memory and size. The PDF is tagged, so that it
// can be searched and read aloud, and its outline follows the headings.
package paper

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"os"
	"os/exec"
	"regexp"
	"strings"
	"time"

	"github.com/chromedp/chromedp"

	"endcast/internal/domain/fault"
)

// Limits bound one print.
type Limits struct {
	Time    time.Duration // from the start of the browser to the PDF
	Wait    time.Duration // for the prints before it
	Waiting int           // prints that may wait; one more is turned away
	Memory  int64         // bytes of memory of the browser with all its processes
	Page    int           // bytes of a page
	PDF     int           // bytes of a PDF
}

// Usual are the limits of a server of common size.
var Usual = Limits{Time: 90 * time.Second, Wait: 60 * time.Second, Waiting: 4, Memory: 1500 << 20, Page: 96 << 20, PDF: 128 << 20}

// Off as the name of the browser switches printing on the server off.
const Off = "none"

// names under which the browser is looked for, in order.
var names = []string{"chromium", "chromium-browser", "google-chrome", "google-chrome-stable"}

// Printer makes PDFs, one at a time. It is safe for use by several at once.
type Printer struct {
	browser string
	missing string
	limits  Limits
	log     *slog.Logger
	turn    chan struct{}
	waiting chan struct{}
}

// New returns a printer that uses the browser at a path; "" looks for one, Off has none.
// Where there is none the printer says so (see Missing) and refuses to print.
func New(browser string, limits Limits, log *slog.Logger) *Printer {
	p := &Printer{limits: limits, log: log, turn: make(chan struct{}, 1), waiting: make(chan struct{}, limits.Waiting+1)}
	if p.log == nil {
		p.log = slog.New(slog.DiscardHandler)
	}
	switch browser {
	case Off:
		p.missing = "printing on the server is switched off here"
		return p
	case "":
		for _, n := range names {
			if found, err := exec.LookPath(n); err == nil {
				p.browser = found
				return p
			}
		}
		p.missing = "the server has no Chromium, which makes the PDF (looked for " + strings.Join(names, ", ") + ")"
		return p
	}
	if found, err := exec.LookPath(browser); err == nil {
		p.browser = found
		return p
	}
	p.missing = "the server has no Chromium, which makes the PDF: there is none at " + browser
	return p
}

// Missing says why nothing can be printed here, in words for a person; "" where it can.
func (p *Printer) Missing() string { return p.missing }

// refresh is a page's order to go elsewhere by itself.
var refresh = regexp.MustCompile(`(?i)<meta[^>]*\bhttp-equiv\s*=\s*["']?\s*refresh`)

// Print makes a PDF of a whole page. The page waits its turn. The refusals are
// fault.Refused for a page that leads on to another, fault.Unavailable without a browser, when a limit of time or memory was reached, or
// when the browser failed; fault.TooMany where too many wait; fault.TooLarge.
func (p *Printer) Print(ctx context.Context, html []byte) ([]byte, error) {
	if p.missing != "" {
		return nil, fault.New(fault.Unavailable, "%s; the page can be printed from the browser instead", p.missing)
	}
	if len(html) > p.limits.Page {
		return nil, fault.New(fault.TooLarge, "the document is too large to print: %d MB, and %d MB is the most", len(html)>>20, p.limits.Page>>20)
	}
	if refresh.Match(html) {
		// The browser would leave the page for an error of its own before or after it is set.
		return nil, fault.New(fault.Refused, "a page that leads on to another by itself is not printed")
	}
	select {
	case p.waiting <- struct{}{}:
		defer func() { <-p.waiting }()
	default:
		return nil, fault.New(fault.TooMany, "%d documents are being printed or wait for it: try again in a minute", cap(p.waiting))
	}
	queue := time.NewTimer(p.limits.Wait)
	defer queue.Stop()
	select {
	case p.turn <- struct{}{}:
		defer func() { <-p.turn }()
	case <-queue.C:
		return nil, fault.New(fault.TooMany, "other documents are being printed: try again in a minute")
	case <-ctx.Done():
		return nil, ctx.Err()
	}
	start := time.Now()
	pdf, err := p.print(ctx, html, os.Geteuid() == 0)
	if err != nil && strings.Contains(err.Error(), "sandbox") {
		// Some containers allow the browser no sandbox of its own. The page is ours, without
		// scripts, network or files, and the server's own account confines it.
		p.log.WarnContext(ctx, "the browser has no sandbox here; printing without", "error", err)
		pdf, err = p.print(ctx, html, true)
	}
	if err == nil {
		p.log.InfoContext(ctx, "printed", "page", len(html), "pdf", len(pdf), "took", time.Since(start))
	}
	return pdf, err
}

// print starts a browser for one page and ends it.
func (p *Printer) print(parent context.Context, html []byte, bare bool) ([]byte, error) {
	ctx, cancel := context.WithTimeoutCause(parent, p.limits.Time, errSlow)
	defer cancel()
	ctx, stop := context.WithCancelCause(ctx)
	defer stop(nil)
	watch := &watch{limit: p.limits.Memory, over: func() { stop(errLarge) }}
	alloc, end := chromedp.NewExecAllocator(ctx, options(p.browser, bare)...)
	defer end()
	tab, leave := chromedp.NewContext(alloc, chromedp.WithErrorf(func(string, ...any) {}), chromedp.WithLogf(func(string, ...any) {}))
	defer leave()
	watching, unwatch := context.WithCancel(ctx)
	done := make(chan struct{})
	go func() { defer close(done); watch.run(watching) }()
	defer func() { unwatch(); <-done }()

	pdf, err := chromedp.Run(tab, steps(html, watch))
	switch cause := context.Cause(ctx); {
	case errors.Is(cause, errSlow):
		return nil, fault.New(fault.Unavailable, "the PDF was not ready within %s and was given up; print the page from the browser, or ask for a smaller document", p.limits.Time)
	case errors.Is(cause, errLarge):
		return nil, fault.New(fault.Unavailable, "the PDF needed more than %d MB of memory and was given up; print the page from the browser, or ask for a smaller document", p.limits.Memory>>20)
	case parent.Err() != nil:
		return nil, parent.Err()
	case err != nil:
		return nil, fault.Wrap(fault.Unavailable, err, "the PDF could not be made: the browser of the server failed; print the page from the browser instead")
	case len(pdf) > p.limits.PDF:
		return nil, fault.New(fault.TooLarge, "the PDF is too large: %d MB, and %d MB is the most", len(pdf)>>20, p.limits.PDF>>20)
	case !whole(pdf):
		return nil, fault.Wrap(fault.Unavailable, fmt.Errorf("no whole tagged PDF in %d bytes", len(pdf)), "the PDF could not be made: what the browser of the server wrote is not whole")
	}
	return pdf, nil
}

var (
	errSlow  = errors.New("the limit of time is reached")
	errLarge = errors.New("the limit of memory is reached")
)
