package paper

import (
	"bytes"
	"context"
	"regexp"
	"strconv"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
)

// options are those of a browser that prints one page and reaches nothing.
func options(program string, bare bool) []chromedp.ExecAllocatorOption {
	opts := append(chromedp.DefaultExecAllocatorOptions[:],
		chromedp.ExecPath(program),
		chromedp.Flag("disable-component-update", true),
		chromedp.Flag("disable-domain-reliability", true),
		chromedp.Flag("disable-gpu", true),
		chromedp.Flag("disable-remote-fonts", false),
		chromedp.Flag("font-render-hinting", "none"),
		chromedp.Flag("no-pings", true),
		chromedp.Flag("disable-javascript-harmony-shipping", true),
		// No name and no number leads anywhere, and what would go out meets a proxy that is not there.
		chromedp.Flag("host-resolver-rules", "MAP * ~NOTFOUND"),
		chromedp.Flag("proxy-server", "http://127.0.0.1:9"),
		chromedp.Flag("proxy-bypass-list", "<-loopback>"),
	)
	if bare {
		opts = append(opts, chromedp.NoSandbox)
	}
	return opts
}

func yes() *bool { b := true; return &b }

// steps puts a page into an empty tab and prints it.
func steps(html []byte, w *watch) chromedp.Action[[]byte] {
	return func(ctx context.Context, t *chromedp.Target) ([]byte, error) {
		if process := chromedp.FromContext(ctx).Browser.Process(); process != nil {
			w.pid.Store(int64(process.Pid))
		}
		if _, err := cdp.Call(ctx, t, emulation.SetScriptExecutionDisabled, emulation.SetScriptExecutionDisabledParams{Value: true}); err != nil {
			return nil, err
		}
		if _, err := cdp.Call(ctx, t, network.OverrideNetworkState, network.OverrideNetworkStateParams{Offline: true}); err != nil {
			return nil, err
		}
		tree, err := cdp.Call(ctx, t, page.GetFrameTree, cdp.Empty{})
		if err != nil {
			return nil, err
		}
		if _, err := cdp.Call(ctx, t, page.SetDocumentContent, page.SetDocumentContentParams{FrameID: tree.FrameTree.Frame.ID, HTML: string(html)}); err != nil {
			return nil, err
		}
		// Asked from outside the page, which runs no script of its own: the fonts are inside the
		// page and yet take a moment to be read.
		if _, err := chromedp.Evaluate[bool]("document.fonts.ready.then(() => true)", chromedp.EvalAwaitPromise)(ctx, t); err != nil {
			return nil, err
		}
		return chromedp.PrintToPDF(func(p *page.PrintToPDFParams) {
			p.PaperWidth, p.PaperHeight = chromedp.PaperLetter.Width, chromedp.PaperLetter.Height
			p.PreferCSSPageSize, p.PrintBackground = yes(), yes()
			p.GenerateTaggedPDF, p.GenerateDocumentOutline = yes(), yes()
			p.TransferMode = page.PrintToPDFTransferModeReturnAsStream
		})(ctx, t)
	}
}

// whole reports whether a PDF begins and ends as one and has its tags.
func whole(pdf []byte) bool {
	return bytes.HasPrefix(pdf, []byte("%PDF-")) && bytes.Contains(pdf[max(0, len(pdf)-1024):], []byte("%%EOF")) && bytes.Contains(pdf, []byte("/StructTreeRoot"))
}

var countOfPages = regexp.MustCompile(`/Type /Pages\s+/Count (\d+)|/Count (\d+)\s*/Type /Pages|/Type /Pages[^>]*?/Count (\d+)`)

// Pages is how many pages a PDF of this package has; 0 where that cannot be read.
func Pages(pdf []byte) int {
	most := 0
	for _, m := range countOfPages.FindAllSubmatch(pdf, -1) {
		for _, d := range m[1:] {
			if n, err := strconv.Atoi(string(d)); err == nil {
				most = max(most, n)
			}
		}
	}
	return most
}
